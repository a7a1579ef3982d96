package jobs

import (
	"slices"
	"strings"

	"tacet/acoustics"
)

// Firm is what a company has recorded for all its jobs, in the job whose id is the company's: its materials, prices and
// targets, each in the version in force.
type Firm struct {
	materials []FirmMaterial
	Prices    []PriceLine
	targets   []TargetSet
	takeOff   *TakeOffEntry
}

// FirmMaterial is a material with its version: 0 for a generic one of the program.
type FirmMaterial struct {
	acoustics.Material
	DynamicStiffnessMNM3 float64
	Masses               []MassAt
	Version              int
	Entry                string // that recorded it
	DataSheet            string
}

// FirmOf reads the firm's facts from the company's own job; nil gives the generic ones alone.
func FirmOf(company *Job) Firm {
	var f Firm
	if company == nil {
		return f
	}
	versions := map[string]int{}
	for _, r := range company.Records {
		if d, ok := r.What.(*Material); ok {
			versions[strings.ToLower(d.ID)]++
			if company.InForce(r) {
				f.materials = put(f.materials, d.material(versions[strings.ToLower(d.ID)], r.ID), func(m FirmMaterial) string { return m.ID })
			}
		}
		if d, ok := r.What.(*PriceEntry); ok && company.InForce(r) {
			f.Prices = put(f.Prices, d.line(r.ID), func(p PriceLine) string { return p.ID })
		}
		if d, ok := r.What.(*TakeOffEntry); ok && company.InForce(r) {
			f.takeOff = d
		}
		if d, ok := r.What.(*TargetEntry); ok && company.InForce(r) {
			f.targets = put(f.targets, d.set(), func(t TargetSet) string { return t.ID })
		}
	}
	slices.SortFunc(f.Prices, func(a, b PriceLine) int { return strings.Compare(a.ID, b.ID) })
	return f
}

// put replaces what has the same id, letter case aside, or adds.
func put[T any](list []T, v T, id func(T) string) []T {
	for i := range list {
		if strings.EqualFold(id(list[i]), id(v)) {
			list[i] = v
			return list
		}
	}
	return append(list, v)
}

// Materials lists the firm's materials and the generic ones that it has not replaced, by id.
func (f Firm) Materials() []FirmMaterial {
	var all []FirmMaterial
	for _, m := range acoustics.Materials() {
		all = append(all, FirmMaterial{Material: m})
	}
	for _, m := range f.materials {
		all = put(all, m, func(m FirmMaterial) string { return m.ID })
	}
	slices.SortFunc(all, func(a, b FirmMaterial) int { return strings.Compare(a.ID, b.ID) })
	return all
}

// Material finds a material, the firm's before the generic one.
func (f Firm) Material(id string) (FirmMaterial, bool) {
	for _, m := range f.Materials() {
		if strings.EqualFold(m.ID, id) {
			return m, true
		}
	}
	return FirmMaterial{}, false
}

// TargetSets lists the firm's targets before those of the program; one with the same id replaces it.
func (f Firm) TargetSets() []TargetSet {
	all := TargetSets()
	for _, t := range f.targets {
		all = put(all, t, func(t TargetSet) string { return t.ID })
	}
	slices.SortStableFunc(all, func(a, b TargetSet) int {
		switch {
		case a.Own == b.Own:
			return 0
		case a.Own:
			return -1
		}
		return 1
	})
	return all
}

// MassOf is the mass of a thickness in kg/m²: as the data sheet gives it for that thickness, else by the density; false
// where neither is known.
func (m FirmMaterial) MassOf(thicknessMM float64) (float64, bool) {
	for _, at := range m.Masses {
		if at.ThicknessMM == thicknessMM {
			return at.MassKgM2, true
		}
	}
	if m.DensityKgM3 > 0 {
		return round(m.DensityKgM3 * thicknessMM / 1000), true
	}
	return 0, false
}

// Layer makes a layer of the material. Every value is written out, so that a later version of the material changes nothing
// that is specified already. A generic one is named by its id, so that everybody who reads the list knows which to order and to fit;
// one of the firm is no part of the program's list, and is named by the layer's detail: [Layer.Name].
func (m FirmMaterial) Layer(kind string, thicknessMM float64) (acoustics.Layer, error) {
	if !slices.Contains(m.Kinds, kind) {
		return acoustics.Layer{}, &InputError{Field: "material", Value: m.ID, Hint: "it is for " + strings.Join(m.Kinds, ", ")}
	}
	mass, ok := m.MassOf(thicknessMM)
	if !ok {
		return acoustics.Layer{}, &InputError{Field: "thickness_mm", Value: trim(thicknessMM), Hint: "the data sheet of " + m.ID + " gives no mass for it, and no density"}
	}
	given := func(v float64) *float64 {
		if v == 0 {
			return nil
		}
		return &v
	}
	generic := ""
	if m.Version == 0 {
		generic = m.ID
	}
	var l acoustics.Layer
	switch kind {
	case "membrane":
		l.Element = acoustics.Membrane{Material: generic, Thickness: thicknessMM, Mass: mass, ShearModulusMPa: given(m.ShearModulusMPa), LossFactor: given(m.LossFactor)}
	case "resilient_mat":
		l.Element = acoustics.Mat{Thickness: thicknessMM, Mass: mass, DynamicStiffnessMNM3: m.DynamicStiffnessMNM3, LossFactor: given(m.LossFactor)}
	default:
		l.Element = acoustics.Board{Of: kind, Material: generic, Thickness: thicknessMM, Mass: mass, YoungsModulusGPa: given(m.YoungsModulusGPa), Poisson: given(m.Poisson), LossFactor: given(m.LossFactor)}
	}
	if err := l.Valid("layer"); err != nil {
		return acoustics.Layer{}, firstOf(err)
	}
	return l, nil
}

// ofFirm is the right to record a fact of the firm: those who specify, in the company's own job and nowhere else.
type ofFirm struct{}

// Allowed refuses it in the job of a client.
func (ofFirm) Allowed(j *Job, a Author) error {
	if j.ID != j.Company {
		return refuse("this is a fact of the firm and is recorded in the firm's own job")
	}
	if !a.Role.Specifies() {
		return refuse("the firm's facts are kept by the supervisor or the office")
	}
	return nil
}

// inForce names the records of a kind about the same id, which a new one replaces.
func inForce[T any](j *Job, same func(T) bool) []Ref {
	var list []*Record
	for _, r := range j.Records {
		if d, ok := r.What.(T); ok && same(d) {
			list = append(list, r)
		}
	}
	return bases(j, list)
}

// identifier checks the id of a material, price or target.
func identifier(field, s string) error {
	ok := s != "" && len(s) <= 40
	for _, c := range []byte(s) {
		ok = ok && (c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-' || c == '.' || c == '_')
	}
	if !ok {
		return &InputError{Field: field, Value: orMissing(s), Range: "1 to 40 letters, digits, - . or _"}
	}
	return nil
}
