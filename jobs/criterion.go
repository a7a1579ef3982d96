package jobs

import (
	"math"

	"tacet/acoustics"
)

// Criterion is where a measured value has to lie for its check to pass: from Min to Max, each infinite where there is no end.
type Criterion struct {
	Min, Max float64
	Unit     string
}

// Met tells whether a value lies inside; the ends belong to it.
func (c Criterion) Met(v float64) bool { return v >= c.Min && v <= c.Max }

// Says names it in a sentence: window 42.5 to 54.5 mm, at most 20 %, at least 15 kg/m².
func (c Criterion) Says() string { return c.words("window ", "at most ", "at least ") }

// Asks says it to whoever is about to measure: the window is 42.5 to 54.5 mm.
func (c Criterion) Asks() string { return c.words("the window is ", "at most ", "at least ") }

// Misses is the mark of a value that does not meet it: outside 42.5 to 54.5 mm, above 20 %, below 15 kg/m².
func (c Criterion) Misses() string { return c.words("outside ", "above ", "below ") }

func (c Criterion) words(both, most, least string) string {
	switch {
	case math.IsInf(c.Min, -1):
		return most + trim(c.Max) + " " + c.Unit
	case math.IsInf(c.Max, 1):
		return least + trim(c.Min) + " " + c.Unit
	}
	return both + trim(c.Min) + " to " + trim(c.Max) + " " + c.Unit
}

// passesIn gives a measure the criterion of its rule, in numbers as the rule's own words have them.
type passesIn func(s *Surface, l *Layer) (least, most float64, known bool)

func between(least, most float64) passesIn {
	return func(*Surface, *Layer) (float64, float64, bool) { return least, most, true }
}

func atMost(most float64) passesIn { return between(math.Inf(-1), most) }

func atLeast(least float64) passesIn { return between(least, math.Inf(1)) }

// inScrewWindow takes the window of the layer; where no length can hold there is none to compare with.
func inScrewWindow(s *Surface, l *Layer) (least, most float64, known bool) {
	w, ok := s.ScrewWindow(l)
	return w.MinMM, w.MaxMM, ok && w.MinMM <= w.MaxMM
}

// atScrewSpacing is the widest spacing in the field of a board; at its ends it is closer.
func atScrewSpacing(s *Surface, _ *Layer) (least, most float64, known bool) {
	most, known = map[SurfaceKind]float64{Ceiling: 230, Wall: 300}[s.Kind], s.Kind == Ceiling || s.Kind == Wall
	return math.Inf(-1), most, known
}

// Criterion is what a measured value of a check has to meet on this surface; nil where its rule has no number for it.
func (s *Surface) Criterion(c *Check, key string) *Criterion {
	m, ok := measureOf(c.Rule.Code, key)
	l := s.Layer(c.Layer)
	if !ok || m.Passes == nil || l == nil && c.Layer > 0 {
		return nil
	}
	least, most, known := m.Passes(s, l)
	if !known {
		return nil
	}
	return &Criterion{Min: least, Max: most, Unit: m.Range.Unit}
}

// Outside returns the criterion that a measured value of an answer does not meet; nil where it meets it, where there is none, and
// where the answer was given to an older list of layers, of which the window is not known any more.
func (j *Job) Outside(r *Record, key string) *Criterion {
	d, ok := r.What.(*CheckResult)
	if !ok {
		return nil
	}
	s := j.Surface(d.Surface)
	v, measured := d.Measured[key]
	if s == nil || !measured || !j.countsFor(r, s) {
		return nil
	}
	c := s.Check(d.Check, d.Layer)
	if c == nil {
		return nil
	}
	if in := s.Criterion(c, key); in != nil && !in.Met(v) {
		return in
	}
	return nil
}

// Measure is a value that a check may ask for.
type Measure struct {
	Key    string // JSON key, with its unit
	Name   string
	Range  acoustics.Range // what can be written down at all
	Passes passesIn        // what the rule accepts; nil where it has no number for it
}
