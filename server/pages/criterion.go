package pages

import (
	"encoding/json"
	"strings"

	"tacet/jobs"
)

// tellCriteria says beside each value what it has to be on this surface.
func tellCriteria(f *form, s *jobs.Surface, c *jobs.Check) {
	for _, m := range c.Rule.Measures {
		x := f.field("measured." + m.Key)
		if in := s.Criterion(c, m.Key); in != nil && x != nil {
			x.Hint = sentence(in.Asks())
		}
	}
}

// doubtPass tells whether a check is said to pass with a value that does not meet its criterion, or, of a stop check, without the value that
// has one, and asks why where no note says it. With a reason it is taken, and says so wherever it is read. Without the second question an
// empty field would be the way around the first.
func doubtPass(f *form, s *jobs.Surface, c *jobs.Check, result, note string, measured map[string]any, name func(what string) string) (doubted bool) {
	if result != string(jobs.Pass) {
		return false
	}
	doubt := func(m jobs.Measure, says string) {
		doubted = true
		if note == "" {
			f.complain(name("measured."+m.Key), says)
		}
	}
	for _, m := range c.Rule.Measures {
		in := s.Criterion(c, m.Key)
		n, written := measured[m.Key].(json.Number)
		switch v, err := n.Float64(); {
		case in == nil:
		case !written && c.Rule.Stop:
			doubt(m, withoutValue(m))
		case err == nil && !in.Met(v):
			doubt(m, quantity(v, m.Range.Unit)+" is "+in.Misses()+". Choose Failed, or say in the note why it passes.")
		}
	}
	return doubted
}

// withoutValue asks for the value of a stop check that is said to pass without it.
func withoutValue(m jobs.Measure) string {
	return "Write the " + m.Name + ", or say in the note why it passes without."
}

// itself is the name of a field where a form asks one check.
func itself(what string) string { return what }

// measuredWords are the values of the answers in force, each with what it has to be.
func measuredWords(j *jobs.Job, s *jobs.Surface, c *jobs.Check) string {
	var words []string
	for _, h := range c.Heads {
		d, ok := h.What.(*jobs.CheckResult)
		if !ok {
			continue
		}
		for _, m := range c.Rule.Measures {
			v, ok := d.Measured[m.Key]
			if !ok {
				continue
			}
			says := m.Name + " " + quantity(v, m.Range.Unit)
			if out := j.Outside(h, m.Key); out != nil {
				says += ", " + out.Misses()
			} else if in := s.Criterion(c, m.Key); in != nil {
				says += ", " + in.Says()
			}
			words = append(words, says)
		}
	}
	return strings.Join(words, ", ")
}

// outsideWords marks a check that passed with a value that does not meet its criterion.
func outsideWords(j *jobs.Job, c *jobs.Check) string {
	for _, h := range c.Heads {
		d, ok := h.What.(*jobs.CheckResult)
		if !ok || d.Result != jobs.Pass {
			continue
		}
		for _, m := range c.Rule.Measures {
			if out := j.Outside(h, m.Key); out != nil {
				return quantity(d.Measured[m.Key], m.Range.Unit) + ", " + out.Misses()
			}
		}
	}
	return ""
}
