package jobs

import (
	"strings"

	"tacet/acoustics"
)

var _ = registerKind[Material]("material", 1)

// Material is a material of the firm by its own data sheets, in the company's own job. Recording it again makes a new
// version; what is specified with an older one stays as it is.
type Material struct {
	Common
	ofFirm
	ID                   string   `json:"id"`
	Name                 string   `json:"name"`
	Kinds                []string `json:"kinds"`
	DensityKgM3          *float64 `json:"density_kg_m3,omitempty"`
	Masses               []MassAt `json:"masses,omitempty"`
	YoungsModulusGPa     *float64 `json:"youngs_modulus_gpa,omitempty"`
	Poisson              *float64 `json:"poisson,omitempty"`
	LossFactor           *float64 `json:"loss_factor,omitempty"`
	ShearModulusMPa      *float64 `json:"shear_modulus_mpa,omitempty"`
	DynamicStiffnessMNM3 *float64 `json:"dynamic_stiffness_mn_m3,omitempty"`
	Spread               string   `json:"spread"`
	Source               string   `json:"source"`
	DataSheet            string   `json:"data_sheet,omitempty"`
}

// MassAt is the mass of one thickness.
type MassAt struct {
	ThicknessMM float64 `json:"thickness_mm"`
	MassKgM2    float64 `json:"mass_kg_m2"`
}

// MaterialKinds lists the layer kinds that a material may be of.
func MaterialKinds() []string {
	return []string{"board", "plaster", "masonry", "concrete", "timber_panel", "glass", "metal", "screed", "membrane", "resilient_mat"}
}

// Valid checks every value, and that there is a mass, a spread and a source.
func (d *Material) Valid() error {
	if err := identifier("id", d.ID); err != nil {
		return err
	}
	for _, f := range []struct {
		field, v string
		least    int
	}{{"name", d.Name, 1}, {"spread", d.Spread, 1}, {"source", d.Source, 1}, {"data_sheet", d.DataSheet, 0}} {
		if err := text(f.field, f.v, f.least, 300); err != nil {
			return err
		}
	}
	if len(d.Kinds) == 0 {
		return &InputError{Field: "kinds", Value: "missing", Range: "one or more of " + strings.Join(MaterialKinds(), ", ")}
	}
	for i, k := range d.Kinds {
		if err := choice("kinds["+itoa(i)+"]", k, MaterialKinds()...); err != nil {
			return err
		}
		if k == "resilient_mat" && d.DynamicStiffnessMNM3 == nil {
			return &InputError{Field: "dynamic_stiffness_mn_m3", Value: "missing", Range: acoustics.DynamicStiffnessRange.String()}
		}
	}
	if d.DensityKgM3 == nil && len(d.Masses) == 0 {
		return &InputError{Field: "density_kg_m3", Value: "missing", Range: acoustics.DensityRange.String(), Hint: "or give masses by thickness"}
	}
	if len(d.Masses) > 40 {
		return &InputError{Field: "masses", Value: itoa(len(d.Masses)), Range: "at most 40"}
	}
	for i, m := range d.Masses {
		at := "masses[" + itoa(i) + "]"
		if err := acoustics.ThicknessRange.Check(at+".thickness_mm", m.ThicknessMM); err != nil {
			return err
		}
		if err := acoustics.MatMassRange.Check(at+".mass_kg_m2", m.MassKgM2); err != nil && acoustics.MassRange.Check("", m.MassKgM2) != nil {
			return err
		}
	}
	for _, f := range []struct {
		r     acoustics.Range
		field string
		v     *float64
	}{{acoustics.DensityRange, "density_kg_m3", d.DensityKgM3}, {acoustics.YoungsModulusRange, "youngs_modulus_gpa", d.YoungsModulusGPa},
		{acoustics.PoissonRange, "poisson", d.Poisson}, {acoustics.LossFactorRange, "loss_factor", d.LossFactor},
		{acoustics.ShearModulusRange, "shear_modulus_mpa", d.ShearModulusMPa}, {acoustics.DynamicStiffnessRange, "dynamic_stiffness_mn_m3", d.DynamicStiffnessMNM3}} {
		if err := optional(f.r, f.field, f.v); err != nil {
			return err
		}
	}
	return d.valid()
}

// names replaces the version before.
func (d *Material) names(j *Job) []Ref {
	return inForce(j, func(m *Material) bool { return strings.EqualFold(m.ID, d.ID) })
}

func (d *Material) apply(j *Job, r *Record) { j.put(r) }

func (d *Material) says(*Job, *Record) string {
	return "material " + d.ID + ": " + d.Name + " (" + d.Source + ")"
}

func (d *Material) material(version int, entry string) FirmMaterial {
	return FirmMaterial{Material: acoustics.Material{ID: d.ID, Name: d.Name, Kinds: d.Kinds, DensityKgM3: value(d.DensityKgM3), YoungsModulusGPa: value(d.YoungsModulusGPa),
		Poisson: value(d.Poisson), LossFactor: value(d.LossFactor), ShearModulusMPa: value(d.ShearModulusMPa), Spread: d.Spread, Source: d.Source},
		DynamicStiffnessMNM3: value(d.DynamicStiffnessMNM3), Masses: d.Masses, Version: version, Entry: entry, DataSheet: d.DataSheet}
}
