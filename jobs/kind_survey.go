package jobs

import (
	"slices"
	"strings"

	"tacet/acoustics"
)

var _ = registerKind[Survey]("survey", 1)

// Survey is one finding of the survey, with how it is known.
type Survey struct {
	Common
	anyone
	Surface   string `json:"surface,omitempty" on:"surface"`
	Room      string `json:"room,omitempty" on:"room"`
	Structure string `json:"structure,omitempty" on:"structure"`
	Finding   string `json:"finding"`
	Known     string `json:"known"`

	Category  string `json:"category,omitempty"`
	Place     string `json:"place,omitempty"`
	Test      string `json:"test,omitempty"`       // the quick test that found it
	Who       string `json:"who,omitempty"`        // who has to act, decide or agree
	Settled   bool   `json:"settled,omitempty"`    // nothing is left to do or to agree
	Boxes     int    `json:"boxes,omitempty"`      // socket and switch boxes: each needs a pad
	BuiltYear int    `json:"built_year,omitempty"` // of this part of the building
	// SpreadDB is how far a prediction may be off because this was not seen; missing: the usual figure.
	SpreadDB *float64 `json:"spread_db,omitempty"`
}

// Categories of a finding. What is open in the last four is listed until it is settled.
const (
	FindingService   = "service"
	FindingHazard    = "hazard"
	FindingAgreement = "agreement"
	FindingLimit     = "limit"
)

// FindingCategories lists the categories.
func FindingCategories() []string {
	return []string{"noise", "room", "structure", "steel", "load", "fire", "moisture", FindingLimit, FindingService, FindingHazard, FindingAgreement, "other"}
}

// QuickTests lists the quick tests of a survey. A level read off a phone is an indication, never a result.
func QuickTests() []string {
	return []string{"ear", "knock", "walk_and_talk", "smoke", "torch", "phone_level", "endoscope", "pre_test"}
}

// Valid wants the finding and how it is known.
func (d *Survey) Valid() error {
	for _, f := range []struct{ field, v string }{{"surface", d.Surface}, {"room", d.Room}, {"structure", d.Structure}} {
		if f.v == "" {
			continue
		}
		if err := code(f.field, f.v); err != nil {
			return err
		}
	}
	if err := text("finding", d.Finding, 1, 2000); err != nil {
		return err
	}
	if err := choice("known", d.Known, "seen", "drilled", "drawn", "guessed"); err != nil {
		return err
	}
	if d.Category != "" {
		if err := choice("category", d.Category, FindingCategories()...); err != nil {
			return err
		}
	}
	if d.Test != "" {
		if err := choice("test", d.Test, QuickTests()...); err != nil {
			return err
		}
	}
	if err := text("place", d.Place, 0, 200); err != nil {
		return err
	}
	if err := text("who", d.Who, 0, 200); err != nil {
		return err
	}
	if err := wholeNumber("boxes", d.Boxes, 1, 10000); err != nil {
		return err
	}
	if err := wholeNumber("built_year", d.BuiltYear, firstYear, lastYear); err != nil {
		return err
	}
	if err := optional(acoustics.Range{Min: 0, Max: 10, Unit: "dB"}, "spread_db", d.SpreadDB); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses a place that the job does not have.
func (d *Survey) Fits(j *Job) error {
	if d.Room != "" && j.Room(d.Room) == nil {
		return &InputError{Field: "room", Value: d.Room, Hint: "no room has that code"}
	}
	if d.Structure != "" && j.Structure(d.Structure) == nil {
		return &InputError{Field: "structure", Value: d.Structure, Hint: "no structure has that code"}
	}
	return AtLayer{Surface: d.Surface}.Fits(j)
}

func (d *Survey) apply(j *Job, r *Record) { j.put(r) }

func (d *Survey) says(*Job, *Record) string {
	return d.begun() + " (" + d.Known + ")"
}

// begun is the finding as the beginning of a line that goes on: people end their sentences.
func (d *Survey) begun() string { return strings.TrimSuffix(d.Finding, ".") }

// assumed tells whether the finding was not seen on site.
func (d *Survey) assumed() bool { return d.Known == "guessed" || d.Known == "drawn" }

// Our own figures for what a construction that nobody saw does to a prediction, one standard uncertainty; each finding may have its own.
const (
	guessedSpreadDB = 2.0
	drawnSpreadDB   = 1.0
)

// spread is how much wider a prediction gets because of the finding, in dB: only for what was not seen, and without a figure of its own only
// where it is about the construction.
func (d *Survey) spread() float64 {
	switch {
	case !d.assumed():
		return 0
	case d.SpreadDB != nil:
		return *d.SpreadDB
	case d.Category != "structure" && d.Structure == "":
		return 0
	case d.Known == "drawn":
		return drawnSpreadDB
	}
	return guessedSpreadDB
}

// open tells whether something is left to do or to agree.
func (d *Survey) open() bool {
	return !d.Settled && slices.Contains([]string{FindingHazard, FindingAgreement}, d.Category)
}
