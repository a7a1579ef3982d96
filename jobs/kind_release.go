package jobs

import "slices"

var _ = registerKind[Release]("release", 1)

// Release opens a hold point by the supervisor's own word: the named checks no longer keep the layer from being covered.
type Release struct {
	Common
	AtLayer
	judge
	Checks []string `json:"checks"`
	Sees   []string `json:"sees,omitempty" ref:"sees"`
}

// Valid checks the codes.
func (d *Release) Valid() error {
	if err := code("surface", d.Surface); err != nil {
		return err
	}
	if d.Layer != 0 {
		if err := layerNumber(d.Layer); err != nil {
			return err
		}
	}
	if len(d.Checks) == 0 || len(d.Checks) > 50 {
		return &InputError{Field: "checks", Value: itoa(len(d.Checks)), Range: "1 to 50 codes"}
	}
	for i, c := range d.Checks {
		if _, ok := RuleOf(c); !ok {
			return &InputError{Field: "checks[" + itoa(i) + "]", Value: c, Range: "K01 to K50"}
		}
	}
	return d.valid()
}

// Allowed is the right of those who judge; nobody releases work of their own.
func (d *Release) Allowed(j *Job, a Author) error {
	if err := d.judge.Allowed(j, a); err != nil {
		return err
	}
	return j.mayAccept(a, d.Surface, d.Layer)
}

// names points to every answer that the release is given in view of; an answer that it does not name closes the hold
// point again.
func (d *Release) names(j *Job) []Ref {
	refs := d.listRef(j)
	s := j.Surface(d.Surface)
	if s == nil || len(d.Sees) > 0 {
		return refs
	}
	for _, c := range s.ChecksOf(d.Layer) {
		if slices.Contains(d.Checks, c.Rule.Code) {
			refs = append(refs, refsTo(Sees, c.Heads)...)
		}
	}
	refs = append(refs, j.curesOf(s, d.Layer)...)
	return refs[:min(len(refs), MaxRefs)]
}

func (d *Release) apply(j *Job, r *Record) { j.put(r) }

func (d *Release) says(*Job, *Record) string {
	return "released by the supervisor: " + namesOfChecks(d.Checks)
}
