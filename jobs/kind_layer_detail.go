package jobs

import (
	"slices"

	"tacet/acoustics"
)

var _ = registerKind[LayerDetail]("layer_detail", 1)

// LayerDetail gives one layer of a specification its details, or new ones: the list itself is not touched.
type LayerDetail struct {
	Common
	AtLayer
	DetailFacts
}

// ListDetail is the details of one layer as they stand in a layer list.
type ListDetail struct {
	Layer int `json:"layer"`
	DetailFacts
}

// DetailFacts is what a specification says of a layer beyond what a calculation needs: how it is fixed, jointed and sealed,
// which classes it needs and has, what may take its place, and where its mass comes from. All of it is optional.
type DetailFacts struct {
	Generic     string   `json:"generic,omitempty"` // the material in plain words
	Orientation string   `json:"orientation,omitempty"`
	Roles       []string `json:"roles,omitempty"` // what it does besides what its kind says
	Fixing      *Fixing  `json:"fixing,omitempty"`
	Joints      *Joints  `json:"joints,omitempty"`
	Edge        *Edge    `json:"edge,omitempty"`

	Required []Class     `json:"required,omitempty"`
	Given    []Class     `json:"given,omitempty"`
	Equals   []Permitted `json:"equals,omitempty"`

	MassSource      string `json:"mass_source,omitempty"`
	DataSheet       string `json:"data_sheet,omitempty"` // and which one
	Material        string `json:"material,omitempty"`   // of the firm's list, by id
	MaterialVersion int    `json:"material_version,omitempty"`
	HoldPoint       bool   `json:"hold_point,omitempty"`
	EvidenceWanted  string `json:"evidence_wanted,omitempty"`
}

// Fixing is how a layer is held.
type Fixing struct {
	Type      string   `json:"type"`
	LengthMM  *float64 `json:"length_mm,omitempty"`
	SpacingMM *float64 `json:"spacing_mm,omitempty"`
	Into      string   `json:"into,omitempty"`
}

// Joints says how far the joints of a layer lie from those underneath.
type Joints struct {
	StaggerMM *float64 `json:"stagger_mm,omitempty"`
	Rule      string   `json:"rule,omitempty"`
}

// Edge is the gap left round a layer and what closes it.
type Edge struct {
	GapMM *float64 `json:"gap_mm,omitempty"`
	Seal  string   `json:"seal"`
}

// EdgeSeals lists what may close an edge; none leaves it open.
func EdgeSeals() []string {
	return []string{"acoustic_sealant", "tape", "putty", "strip", "glue", "none"}
}

// Class is a class that a layer needs or has: for fire or moisture. Who asks for it and who says so stands with it; this
// program judges neither.
type Class struct {
	For  string `json:"for"`
	What string `json:"what"`
	By   string `json:"by,omitempty"`
}

// Classes lists what a class may be for.
func Classes() []string { return []string{RoleNameFire, RoleNameMoisture} }

// Permitted is a layer that may take the place of the specified one without asking again.
type Permitted struct {
	Layer acoustics.Layer `json:"layer"`
	Name  string          `json:"name,omitempty"`
}

// Where the mass of a layer comes from.
const (
	MassDataSheet = "data_sheet"
	MassWeighed   = "weighed"
	MassGeneric   = "generic"
	MassAssumed   = "assumed"
)

// MassSources lists them, the surest first.
func MassSources() []string { return []string{MassWeighed, MassDataSheet, MassGeneric, MassAssumed} }

// Valid checks every part that is given.
func (d *LayerDetail) Valid() error {
	if err := d.onLayer(); err != nil {
		return err
	}
	if err := d.DetailFacts.valid(); err != nil {
		return err
	}
	return d.Common.valid()
}

// validDetails checks the details of a list, each of a layer of it and each once.
func validDetails(path string, details []ListDetail, layers int) error {
	seen := map[int]bool{}
	for i, d := range details {
		at := path + "[" + itoa(i) + "]"
		if d.Layer < 1 || d.Layer > layers || seen[d.Layer] {
			return &InputError{Field: at + ".layer", Value: itoa(d.Layer), Range: "1 to " + itoa(layers) + ", each once"}
		}
		seen[d.Layer] = true
		if err := under(at, d.DetailFacts.valid()); err != nil {
			return err
		}
	}
	return nil
}

func (d DetailFacts) valid() error {
	for _, f := range []struct{ field, v string }{{"generic", d.Generic}, {"orientation", d.Orientation}, {"data_sheet", d.DataSheet},
		{"material", d.Material}, {"evidence_wanted", d.EvidenceWanted}} {
		if err := text(f.field, f.v, 0, 300); err != nil {
			return err
		}
	}
	for i, r := range d.Roles {
		if err := choice("roles["+itoa(i)+"]", r, RoleNames()...); err != nil {
			return err
		}
	}
	if err := d.validFixing(); err != nil {
		return err
	}
	if len(d.Required) > 10 || len(d.Given) > 10 {
		return &InputError{Field: "required", Value: "too many", Range: "at most 10 classes"}
	}
	for i, c := range d.Required {
		if err := under("required["+itoa(i)+"]", c.valid()); err != nil {
			return err
		}
	}
	for i, c := range d.Given {
		if err := under("given["+itoa(i)+"]", c.valid()); err != nil {
			return err
		}
	}
	if len(d.Equals) > 20 {
		return &InputError{Field: "equals", Value: itoa(len(d.Equals)), Range: "at most 20"}
	}
	for i, e := range d.Equals {
		at := "equals[" + itoa(i) + "]"
		if e.Layer.Element == nil {
			return &InputError{Field: at + ".layer", Value: "missing", Range: "a layer"}
		}
		if err := e.Layer.Valid(at + ".layer"); err != nil {
			return firstOf(err)
		}
		if err := text(at+".name", e.Name, 0, 200); err != nil {
			return err
		}
	}
	if d.MassSource != "" {
		if err := choice("mass_source", d.MassSource, MassSources()...); err != nil {
			return err
		}
	}
	return wholeNumber("material_version", d.MaterialVersion, 1, 100000)
}

func (d DetailFacts) validFixing() error {
	if f := d.Fixing; f != nil {
		if err := text("fixing.type", f.Type, 1, 100); err != nil {
			return err
		}
		if err := optional(DepthRange, "fixing.length_mm", f.LengthMM); err != nil {
			return err
		}
		if err := optional(DepthRange, "fixing.spacing_mm", f.SpacingMM); err != nil {
			return err
		}
		if err := text("fixing.into", f.Into, 0, 100); err != nil {
			return err
		}
	}
	if f := d.Joints; f != nil {
		if err := optional(DepthRange, "joints.stagger_mm", f.StaggerMM); err != nil {
			return err
		}
		if err := text("joints.rule", f.Rule, 0, 300); err != nil {
			return err
		}
	}
	if f := d.Edge; f != nil {
		if err := optional(acoustics.Range{Min: 0, Max: 100, Unit: "mm"}, "edge.gap_mm", f.GapMM); err != nil {
			return err
		}
		return choice("edge.seal", f.Seal, EdgeSeals()...)
	}
	return nil
}

func (c Class) valid() error {
	if err := choice("for", c.For, Classes()...); err != nil {
		return err
	}
	if err := text("what", c.What, 1, 200); err != nil {
		return err
	}
	return text("by", c.By, 0, 200)
}

// Allowed is the right of those who specify: a permitted equal needs no further answer on site, so the site does not
// permit it to itself.
func (d *LayerDetail) Allowed(_ *Job, a Author) error {
	if !a.Role.Specifies() {
		return refuse("the details of a layer are specified by the supervisor or the office")
	}
	return nil
}

// names points to the list that the layer number counts in, and replaces the details given before.
func (d *LayerDetail) names(j *Job) []Ref {
	refs := d.listRef(j)
	if s := j.Surface(d.Surface); s != nil {
		refs = append(refs, bases(j, s.of("layer_detail", d.Layer))...)
	}
	return refs
}

func (d *LayerDetail) apply(j *Job, r *Record) { j.put(r) }

// Detail is what is specified of a layer beyond the list, nil for nothing: what was recorded last, with the list or for the
// layer alone. Details of an older list count where the layer is still the same.
func (s *Surface) Detail(j *Job, n int) *DetailFacts { return s.detailAt(j, n, j.now()) }

func (s *Surface) detailAt(j *Job, n, upto int) *DetailFacts {
	var facts *DetailFacts
	since := -1
	if list := s.spec(); list != nil && s.List.pos < upto {
		for i := range list.Details {
			if list.Details[i].Layer == n {
				facts, since = &list.Details[i].DetailFacts, s.List.pos
			}
		}
	}
	for _, r := range j.heads(s.of("layer_detail", n), upto) {
		if r.pos > since && j.installCounts(r, s) {
			facts, since = &r.What.(*LayerDetail).DetailFacts, r.pos
		}
	}
	return facts
}

// detailRecords lists the details recorded for a layer by itself that count for the list in force.
func (s *Surface) detailRecords(j *Job, n int) []*Record {
	return slices.DeleteFunc(slices.Clone(s.of("layer_detail", n)), func(r *Record) bool { return !j.installCounts(r, s) })
}

// listDetails gathers the details of all layers as they stand, for a copy.
func (s *Surface) listDetails(j *Job) []ListDetail {
	var ds []ListDetail
	for _, l := range s.Layers {
		if d := s.Detail(j, l.N); d != nil {
			ds = append(ds, ListDetail{Layer: l.N, DetailFacts: *d})
		}
	}
	return ds
}

// permits tells whether a layer was a permitted equal of layer n when r was recorded.
func (s *Surface) permits(j *Job, r *Record) bool {
	d := s.detailAt(j, r.On.Layer, r.pos)
	asked := r.What.(*Substitute).LayerNew
	return d != nil && asked != nil && slices.ContainsFunc(d.Equals, func(p Permitted) bool { return sameLayer(p.Layer, *asked) })
}

func (d *LayerDetail) says(*Job, *Record) string {
	says := "details of layer " + itoa(d.Layer)
	if d.Generic != "" {
		says += ": " + d.Generic
	}
	if n := len(d.Equals); n > 0 {
		says += ", " + Count(n, "permitted equal")
	}
	return says
}
