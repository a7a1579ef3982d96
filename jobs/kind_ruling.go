package jobs

import "slices"

var _ = registerKind[Ruling]("ruling", 1)

// Ruling settles a dispute: of the entries it names, one is kept, or none.
type Ruling struct {
	Common
	judge
	On     []string `json:"on" ref:"over"`
	Keeps  string   `json:"keeps"`
	Reason string   `json:"reason"`
}

// Valid wants the entries and the reason.
func (d *Ruling) Valid() error {
	if len(d.On) > MaxRefs {
		return &InputError{Field: "on", Value: itoa(len(d.On)), Range: "1 to 64 entries"}
	}
	if d.Keeps == "" {
		return &InputError{Field: "keeps", Value: "missing", Range: `the id of one of them, or "none"`}
	}
	if err := text("reason", d.Reason, 1, 1000); err != nil {
		return err
	}
	return d.valid()
}

// Allowed is the right of those who judge; nobody rules in favour of work, or of a check of work, of their own.
func (d *Ruling) Allowed(j *Job, a Author) error {
	if err := d.judge.Allowed(j, a); err != nil {
		return err
	}
	kept := j.byID[d.Keeps]
	if kept == nil || kept.On.Surface == "" {
		return nil
	}
	return j.mayAccept(a, kept.On.Surface, kept.On.Layer)
}

// Fits wants the kept entry among those ruled on, and all of them about one thing: others can't disagree.
func (d *Ruling) Fits(j *Job) error {
	if len(d.On) == 0 {
		return &InputError{Field: "on", Value: "missing", Range: "1 to 64 entries"}
	}
	if d.Keeps != "none" && !slices.Contains(d.On, d.Keeps) {
		return &InputError{Field: "keeps", Value: d.Keeps, Range: `one of on, or "none"`}
	}
	first := j.byID[d.On[0]]
	for _, id := range d.On[1:] {
		if r := j.byID[id]; r != nil && first != nil && apart(r.On, first.On) {
			return &InputError{Field: "on", Value: id, Hint: "it is about something else than " + d.On[0]}
		}
	}
	return nil
}

// apart tells whether two subjects are different places. One may be narrower than the other.
func apart(a, b On) bool {
	return a.Surface != b.Surface || a.Structure != b.Structure || a.Room != b.Room || a.Layer > 0 && b.Layer > 0 && a.Layer != b.Layer
}

func (d *Ruling) apply(j *Job, r *Record) { j.put(r) }

func (d *Ruling) says(j *Job, _ *Record) string {
	return "ruling: " + j.keeps(d) + ": " + d.Reason
}
