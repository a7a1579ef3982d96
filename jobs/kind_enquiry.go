package jobs

import "slices"

var _ = registerKind[Enquiry]("enquiry", 2)

// Enquiry is the first call: who asks, what they hear in their own words, and what binds the job before anybody has
// looked at it.
type Enquiry struct {
	Common
	anyone
	Asks  string   `json:"asks"`
	Name  string   `json:"name,omitempty" sealed:"person"`
	Words string   `json:"words" sealed:"person"` // the client's own, not ours
	Heard []string `json:"heard,omitempty"`       // kinds of noise
	Rooms []string `json:"rooms,omitempty"`       // where it is heard, as they call the rooms

	When          string   `json:"when,omitempty" sealed:"person"`
	HowOften      string   `json:"how_often,omitempty"`
	Since         string   `json:"since,omitempty"`
	Tried         string   `json:"tried,omitempty" sealed:"person"`
	ToldTo        string   `json:"told_to,omitempty" sealed:"person"` // council, landlord …
	Fixed         string   `json:"fixed,omitempty" sealed:"person"`   // what "fixed" would sound like to them
	CannotPromise []string `json:"cannot_promise,omitempty"`

	Owner          string `json:"owner,omitempty" sealed:"person"` // of the structure
	LeaseConsent   Known  `json:"lease_consent,omitempty"`
	Listed         Known  `json:"listed,omitempty"` // building or conservation area
	BuiltYear      int    `json:"built_year,omitempty"`
	Deadline       string `json:"deadline,omitempty"`
	Budget         string `json:"budget,omitempty"`
	TestRequiredBy string `json:"test_required_by,omitempty"`
}

// Known is an answer that may be open.
type Known string

// Yes, no, does not matter here, and nobody knows yet.
const (
	KnownYes       Known = "yes"
	KnownNo        Known = "no"
	KnownNotNeeded Known = "not_needed"
	KnownUnknown   Known = "unknown"
)

// Askers lists who may ask.
func Askers() []string {
	return []string{"occupier", "landlord", "developer", "managing_agent", "neighbour", "other"}
}

// CannotPromise lists what is told to everybody who asks, at once: no work on one side brings these.
func CannotPromise() []string {
	return []string{"silence", "noise that goes round", "low bass through a light structure", "all of it by work on one side only"}
}

// What a year of building may be.
const (
	firstYear = 1000
	lastYear  = 2200
)

// Valid wants who asks and their words.
func (d *Enquiry) Valid() error {
	if err := choice("asks", d.Asks, Askers()...); err != nil {
		return err
	}
	if err := text("words", d.Words, 1, 4000); err != nil {
		return err
	}
	for i, h := range d.Heard {
		if err := choice("heard["+itoa(i)+"]", h, noiseCodes()...); err != nil {
			return err
		}
	}
	for _, l := range []struct {
		field string
		list  []string
	}{{"rooms", d.Rooms}, {"cannot_promise", d.CannotPromise}} {
		if err := texts(l.field, l.list, 20, 200); err != nil {
			return err
		}
	}
	for _, f := range []struct{ field, v string }{{"name", d.Name}, {"when", d.When}, {"how_often", d.HowOften}, {"since", d.Since}, {"tried", d.Tried},
		{"told_to", d.ToldTo}, {"fixed", d.Fixed}, {"owner", d.Owner}, {"deadline", d.Deadline}, {"budget", d.Budget}, {"test_required_by", d.TestRequiredBy}} {
		if err := text(f.field, f.v, 0, 1000); err != nil {
			return err
		}
	}
	for _, f := range []struct {
		field string
		v     Known
	}{{"lease_consent", d.LeaseConsent}, {"listed", d.Listed}} {
		if f.v == "" {
			continue
		}
		if err := choice(f.field, f.v, KnownYes, KnownNo, KnownNotNeeded, KnownUnknown); err != nil {
			return err
		}
	}
	if err := wholeNumber("built_year", d.BuiltYear, firstYear, lastYear); err != nil {
		return err
	}
	return d.valid()
}

// texts checks a list of short texts.
func texts(field string, list []string, most, long int) error {
	if len(list) > most {
		return &InputError{Field: field, Value: itoa(len(list)), Range: "at most " + itoa(most)}
	}
	for i, s := range list {
		if err := text(field+"["+itoa(i)+"]", s, 1, long); err != nil {
			return err
		}
	}
	return nil
}

func (d *Enquiry) apply(j *Job, r *Record) { j.put(r) }

// Enquiry is the last enquiry in force, nil for none.
func (j *Job) Enquiry() *Enquiry {
	if r := j.lastElsewhere("enquiry"); r != nil {
		return r.What.(*Enquiry)
	}
	return nil
}

// lastElsewhere is the last record in force of a kind that stands on no surface, nil for none.
func (j *Job) lastElsewhere(kind string) *Record {
	for _, r := range slices.Backward(j.kinds[kind]) {
		if r.What != nil && r.On.Surface == "" && j.InForce(r) {
			return r
		}
	}
	return nil
}

func (d *Enquiry) says(*Job, *Record) string { return "asked by " + words(d.Asks) + ": " + d.Words }
