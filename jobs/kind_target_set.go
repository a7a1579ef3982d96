package jobs

import "strings"

var _ = registerKind[TargetEntry]("target_set", 1)

// TargetEntry is a set of targets of the firm, in the company's own job: an edition that is newer than the program, or what
// a lease asks for. One with the id of a set of the program replaces it.
type TargetEntry struct {
	Common
	ofFirm
	ID      string      `json:"id"`
	Country string      `json:"country,omitempty"`
	Use     string      `json:"use"`
	Dated   string      `json:"dated,omitempty"`
	Source  string      `json:"source"`
	Sure    string      `json:"sure,omitempty"`
	Figures []TargetFor `json:"targets"`
}

// Valid checks the figures and wants a source.
func (d *TargetEntry) Valid() error {
	if err := identifier("id", d.ID); err != nil {
		return err
	}
	for _, f := range []struct {
		field, v string
		least    int
	}{{"use", d.Use, 1}, {"source", d.Source, 1}, {"country", d.Country, 0}, {"dated", d.Dated, 0}, {"sure", d.Sure, 0}} {
		if err := text(f.field, f.v, f.least, 60); err != nil {
			return err
		}
	}
	if len(d.Figures) == 0 || len(d.Figures) > 20 {
		return &InputError{Field: "targets", Value: itoa(len(d.Figures)), Range: "1 to 20"}
	}
	for i, f := range d.Figures {
		at := "targets[" + itoa(i) + "]"
		if err := choice(at+".element", f.Element, "wall", "floor", "any"); err != nil {
			return err
		}
		if err := (Target{Quantity: f.Quantity, ValueDB: f.ValueDB}).valid(at); err != nil {
			return err
		}
	}
	return d.valid()
}

// names replaces the version before.
func (d *TargetEntry) names(j *Job) []Ref {
	return inForce(j, func(t *TargetEntry) bool { return strings.EqualFold(t.ID, d.ID) })
}

func (d *TargetEntry) apply(j *Job, r *Record) { j.put(r) }

func (d *TargetEntry) says(*Job, *Record) string {
	return "targets of " + d.Use + " (" + d.Source + ")"
}

func (d *TargetEntry) set() TargetSet {
	return TargetSet{ID: d.ID, Country: d.Country, Use: d.Use, Dated: d.Dated, Source: d.Source, Sure: d.Sure, Note: d.Note, Figures: d.Figures, Own: true}
}
