package jobs

import (
	"slices"
	"strings"
)

// Finding is a finding of the survey that is in force.
type Finding struct {
	*Survey
	Record *Record
}

// Says puts a finding into one line, how it is known included.
func (f Finding) Says() string {
	says := f.begun()
	if f.Place != "" {
		says += ", " + f.Place
	}
	if f.Test == "phone_level" {
		return says + " (" + f.Known + "; a phone's level is an indication only)"
	}
	return says + " (" + f.Known + ")"
}

// Findings lists the findings of the survey in force, in fold order.
func (j *Job) Findings() []Finding {
	var fs []Finding
	for _, r := range j.kinds["survey"] {
		if d, ok := r.What.(*Survey); ok && j.InForce(r) {
			fs = append(fs, Finding{d, r})
		}
	}
	return fs
}

// Assumptions lists what was not seen but guessed or taken from a drawing.
func (j *Job) Assumptions() []Finding {
	return slices.DeleteFunc(j.Findings(), func(f Finding) bool { return !f.assumed() })
}

// AssumptionsOf lists the assumptions that a prediction of this surface rests on: those on itself, on its room and
// structure, and those on the job as a whole.
func (j *Job) AssumptionsOf(s *Surface) []Finding {
	return slices.DeleteFunc(j.Assumptions(), func(f Finding) bool {
		switch {
		case f.Surface != "":
			return !strings.EqualFold(f.Surface, s.Code)
		case f.Structure != "":
			return f.Structure != s.Structure
		case f.Room != "":
			return f.Room != s.Room
		}
		return false
	})
}

// assumptionNotes carries the assumptions and the open flanking decisions into a prediction.
func (j *Job) assumptionNotes(s *Surface) []string {
	var notes []string
	for _, f := range j.AssumptionsOf(s) {
		n := "assumed, not seen: " + f.Says()
		if f.SpreadDB == nil && f.spread() > 0 {
			n += "; the spread is widened by " + trim(f.spread()) + " dB (our own figure; the finding may have its own)"
		} else if f.spread() > 0 {
			n += "; the spread is widened by " + trim(f.spread()) + " dB (as the finding says)"
		}
		notes = append(notes, n)
	}
	for _, l := range s.Layers {
		if d := s.Detail(j, l.N); d != nil && d.MassSource == MassAssumed {
			notes = append(notes, "the mass of layer "+itoa(l.N)+" is assumed: no data sheet, nothing weighed")
		}
	}
	return append(notes, j.flankingNotes(s)...)
}

// assumedSpread is how much wider a prediction gets by what was not seen. What is not known of one construction hangs together, so the widest
// of the assumptions counts and not their sum.
func (j *Job) assumedSpread(s *Surface) float64 {
	widest := 0.0
	for _, f := range j.AssumptionsOf(s) {
		widest = max(widest, f.spread())
	}
	return widest
}

// openFindings lists what was found and waits for somebody.
func (j *Job) openFindings() []string {
	var ws []string
	for _, f := range j.Findings() {
		if !f.open() {
			continue
		}
		w := f.Category + ": " + f.Says()
		if f.Who != "" {
			w += "; " + f.Who + " decides"
		}
		ws = append(ws, w)
	}
	return ws
}

// BuiltYear is the latest recorded year of building, by the survey if it says one, else by the enquiry; false where nobody
// knows.
func (j *Job) BuiltYear() (int, bool) {
	year := 0
	for _, f := range j.Findings() {
		if f.BuiltYear != 0 {
			year = f.BuiltYear
		}
	}
	if e := j.Enquiry(); year == 0 && e != nil {
		year = e.BuiltYear
	}
	return year, year > 0
}

// Boxes counts the socket and switch boxes found on a surface.
func (j *Job) Boxes(s *Surface) int {
	n := 0
	for _, r := range s.of("survey", 0) {
		if d, ok := r.What.(*Survey); ok && d.Boxes > 0 && j.InForce(r) {
			n += d.Boxes
		}
	}
	return n
}
