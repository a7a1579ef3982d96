package jobs

import "tacet/acoustics"

var _ = registerKind[Substitute]("substitute", 1)

// Substitute asks for another material, answers, or tells of one that is fixed already.
type Substitute struct {
	Common
	AtLayer
	State    SubstituteState  `json:"state"`
	LayerNew *acoustics.Layer `json:"layer_new,omitempty"`
	Reason   string           `json:"reason"`
}

// SubstituteState is where a substitution stands.
type SubstituteState string

// The states of a substitution.
const (
	Asked        SubstituteState = "asked"
	Agreed       SubstituteState = "agreed"
	Refused      SubstituteState = "refused"
	AlreadyFixed SubstituteState = "already_fixed"
)

// Valid checks the new layer and the reason.
func (d *Substitute) Valid() error {
	if err := d.onLayer(); err != nil {
		return err
	}
	if err := choice("state", d.State, Asked, Agreed, Refused, AlreadyFixed); err != nil {
		return err
	}
	if d.LayerNew != nil {
		if d.LayerNew.Element == nil {
			return &InputError{Field: "layer_new", Value: "missing", Range: "a layer"}
		}
		if err := d.LayerNew.Valid("layer_new"); err != nil {
			return firstOf(err)
		}
	} else if d.State != Refused {
		return &InputError{Field: "layer_new", Value: "missing", Range: "a layer", Hint: "say what takes the place of the specified one"}
	}
	if err := text("reason", d.Reason, 1, 1000); err != nil {
		return err
	}
	return d.valid()
}

// Allowed lets anybody ask or tell; the answer is for those who judge or specify.
func (d *Substitute) Allowed(_ *Job, a Author) error {
	if (d.State == Agreed || d.State == Refused) && !a.Role.Specifies() {
		return refuse("a substitution is agreed or refused by the supervisor or the office")
	}
	return nil
}

// names points to what an answer answers: every substitution in force on the layer.
func (d *Substitute) names(j *Job) []Ref {
	refs := d.listRef(j)
	s := j.Surface(d.Surface)
	if s == nil {
		return refs
	}
	as := Sees
	if d.State == Agreed || d.State == Refused {
		as = Base
	}
	return append(refs, refsTo(as, j.heads(s.of("substitute", d.Layer), j.now()))...)
}

func (d *Substitute) apply(j *Job, r *Record) { j.put(r) }

func (d *Substitute) says(*Job, *Record) string {
	says := "substitution " + words(string(d.State))
	if d.LayerNew != nil {
		says += ": " + NameOf(*d.LayerNew)
		if m := d.LayerNew.MassKgM2(); m > 0 {
			says += ", " + trim(m) + " kg/m²"
		}
	}
	if d.Reason != "" {
		says += "; " + d.Reason
	}
	return says
}
