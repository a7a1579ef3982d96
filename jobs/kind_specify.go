package jobs

import (
	"reflect"

	"tacet/acoustics"
)

var (
	_ = registerKind[Specify]("specify", 1)
	_ = registerKind[Respecify]("respecify", 1)
)

// Specify gives a surface its first layer list, outward from the structure.
type Specify struct {
	Common
	Surface   string            `json:"surface" on:"surface"`
	Specified []acoustics.Layer `json:"specified"`
	Details   []ListDetail      `json:"details,omitempty"`
	Like      string            `json:"like,omitempty"`     // the surface it was copied from
	BuildUp   string            `json:"build_up,omitempty"` // the starting build-up it came from, by code
}

// Respecify replaces the layer list of a surface, with the reason.
type Respecify struct {
	Specify
	Reason string `json:"reason"`
}

// Valid checks every layer.
func (d *Specify) Valid() error {
	if err := code("surface", d.Surface); err != nil {
		return err
	}
	if err := validLayers("specified", d.Specified); err != nil {
		return err
	}
	if err := validDetails("details", d.Details, len(d.Specified)); err != nil {
		return err
	}
	if d.Like != "" {
		if err := code("like", d.Like); err != nil {
			return err
		}
	}
	if err := text("build_up", d.BuildUp, 0, 20); err != nil {
		return err
	}
	return d.valid()
}

// Valid checks every layer and asks for the reason.
func (d *Respecify) Valid() error {
	if err := text("reason", d.Reason, 1, 1000); err != nil {
		return err
	}
	return d.Specify.Valid()
}

// fills copies the layers of a like surface or of a starting build-up, where the record gives none of its own.
func (d *Specify) fills(j *Job, tree map[string]any) error {
	if d.Specified != nil || d.Like == "" && d.BuildUp == "" {
		return nil
	}
	if d.Like == "" {
		return d.fillBuildUp(j, tree)
	}
	from := j.Surface(d.Like)
	if from == nil {
		return &InputError{Field: "like", Value: d.Like, Hint: "no surface of this job has that code"}
	}
	if len(from.Specified) == 0 {
		return &InputError{Field: "like", Value: d.Like, Hint: "nothing is specified for it yet"}
	}
	if err := fillTree(tree, from.Specified, d.Details, from.listDetails(j)); err != nil {
		return err
	}
	if by := from.BuildUp(); by != "" && d.BuildUp == "" {
		tree["build_up"] = by
	}
	return nil
}

func (d *Specify) fillBuildUp(j *Job, tree map[string]any) error {
	b, ok := BuildUpByCode(d.BuildUp)
	if !ok {
		return &InputError{Field: "build_up", Value: d.BuildUp, Hint: "no starting build-up has that code; give the layers"}
	}
	s, err := j.find(d.Surface)
	if err != nil {
		return err
	}
	layers, details, err := b.For(j, s)
	if err != nil {
		return err
	}
	return fillTree(tree, layers, d.Details, details)
}

// fillTree puts layers and details into a record, details only where it gives none of its own.
func fillTree(tree map[string]any, layers []acoustics.Layer, own, details []ListDetail) (err error) {
	if tree["specified"], err = treeOf(layers); err != nil {
		return err
	}
	if own == nil && len(details) > 0 {
		tree["details"], err = treeOf(details)
	}
	return err
}

// Allowed is [mayDescribe]: the site team may give a new surface its list, never change one.
func (d *Specify) Allowed(j *Job, a Author) error {
	s := j.Surface(d.Surface)
	return mayDescribe(a, s != nil && len(s.lists) > 0)
}

// Fits refuses a surface that the job does not have, work on existing layers that are not there, and a list that was left
// out: it would empty the surface, which is said with [] alone.
func (d *Specify) Fits(j *Job) error {
	if d.Specified == nil {
		return &InputError{Field: "specified", Value: "missing", Range: "a list of layers", Hint: "[] where none is to be left"}
	}
	s, err := j.find(d.Surface)
	if err != nil {
		return err
	}
	return fitsExisting("specified", d.Specified, j.existing(s))
}

// Fits also refuses the list that is in force already: what was recorded to it would count no more, for nothing.
func (d *Respecify) Fits(j *Job) error {
	if err := d.Specify.Fits(j); err != nil {
		return err
	}
	s := j.Surface(d.Surface)
	if len(j.heads(s.lists, j.now())) == 1 && reflect.DeepEqual(d.Specified, s.Specified) && sameDetails(d.Details, s.listDetails(j)) {
		return refuse("this is the list in force: nothing is changed")
	}
	return nil
}

// sameDetails tells whether two lists of details say the same of each layer.
func sameDetails(a, b []ListDetail) bool {
	return len(a) == len(b) && (len(a) == 0 || reflect.DeepEqual(a, b))
}

func (d *Specify) names(j *Job) []Ref {
	if s := j.Surface(d.Surface); s != nil {
		return bases(j, s.lists)
	}
	return nil
}

func (d *Specify) apply(j *Job, r *Record) {
	s := j.surface(d.Surface)
	s.lists = append(s.lists, r)
}

func (d *Specify) says(*Job, *Record) string {
	return Count(len(d.Specified), "layer") + " specified"
}

func (d *Respecify) says(*Job, *Record) string {
	return Count(len(d.Specified), "layer") + " specified anew: " + d.Reason
}

// list returns the layers that a record of either kind gives.
func (r *Record) list() []acoustics.Layer {
	switch w := r.What.(type) {
	case *Specify:
		return w.Specified
	case *Respecify:
		return w.Specified
	}
	return nil
}

// find returns the surface of that code, or says that there is none.
func (j *Job) find(code string) (*Surface, error) {
	if s := j.Surface(code); s != nil {
		return s, nil
	}
	return nil, &InputError{Field: "surface", Value: orMissing(code), Hint: "no surface of this job has that code"}
}

// existing lists the layers that a surface's work may name: those of its structure, else its own.
func (j *Job) existing(s *Surface) []acoustics.Layer {
	if st := j.Structure(s.Structure); st != nil {
		return st.Existing
	}
	return s.Existing
}
