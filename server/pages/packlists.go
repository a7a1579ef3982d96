package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tacet/jobs"
)

func (p packer) substitutions() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		for _, r := range s.Work() {
			d, ok := r.What.(*jobs.Substitute)
			if !ok || !p.job.InForce(r) {
				continue
			}
			l := s.Layer(r.On.Layer)
			words := fmt.Sprintf("%s, layer %d: ", s.Code, r.On.Layer)
			if d.LayerNew != nil {
				words += jobs.NameOf(*d.LayerNew) + " "
				if m := d.LayerNew.MassKgM2(); m > 0 {
					words += "of " + massOf(m) + " "
				}
			}
			if l != nil {
				words += "in place of " + l.SpecifiedName() + " of " + massOf(l.SpecifiedMass()) + ", "
			}
			out = append(out, words+spaced(d.State)+" on "+p.date(r.DoneAt())+". Reason: "+strings.TrimSuffix(d.Reason, ".")+".")
		}
	}
	return out
}

// openOnFirst bounds what the first page says to be open; the rest is in its place further on.
const openOnFirst = 8

// stillOpen says first of all what is not finished: the sound tests that fail, what was found wrong and is not accepted yet, and the stop checks nobody answered on work
// that is in place.
func (p packer) stillOpen() []string {
	var out []string
	for _, t := range failedTests(p.job) {
		out = append(out, t.Name+": "+strings.Join(t.Says, " "))
	}
	for _, n := range p.job.NonConformances() {
		if !n.Open() {
			continue
		}
		words := "To be put right: "
		if n.State == jobs.NCPutRight {
			words = "Put right, not yet accepted by somebody else: "
		} else if n.Grade == jobs.GradeStop {
			words = "Stop, to be put right: "
		}
		out = append(out, words+foundAt(n.On)+": "+strings.TrimSuffix(n.Saw, ".")+".")
	}
	for _, s := range p.job.Surfaces {
		var names []string
		for _, c := range s.Checks {
			inPlace := slices.ContainsFunc(s.Layers, func(l *jobs.Layer) bool { return l.Share > 0 && (c.Layer == 0 || l.N == c.Layer) })
			if c.Rule.Stop && inPlace && holds(c) && c.State != jobs.CheckFailed {
				name := jobs.Lower(c.Rule.Title)
				if c.Layer > 0 {
					name += fmt.Sprintf(" of layer %d", c.Layer)
				}
				names = append(names, name+" ("+c.Rule.Code+")")
			}
		}
		if len(names) > 0 {
			out = append(out, s.Code+": "+jobs.Count(len(names), "stop check")+" without a pass or a release: "+jobs.JoinWords(names)+".")
		}
	}
	if more := len(out) - openOnFirst; more > 0 {
		out = append(out[:openOnFirst], fmt.Sprintf("%d more; they stand under what was found wrong, what was not seen and what was measured.", more))
	}
	return out
}

// foundAt is where something was found wrong, with what was looked at.
func foundAt(on jobs.On) string {
	words := on.Surface
	if on.Layer > 0 {
		words += fmt.Sprintf(", layer %d", on.Layer)
	}
	if rule, ok := jobs.RuleOf(on.Check); ok {
		words += ", " + jobs.Lower(rule.Title)
	}
	return words
}

func (p packer) corrected() []string {
	var out []string
	for _, n := range p.job.NonConformances() {
		if n.Grade == jobs.GradeNote {
			continue
		}
		words := foundAt(n.On) + ": " + strings.TrimRight(n.Saw, ". ")
		switch {
		case n.PutRight != nil:
			words += "; put right on " + p.date(n.PutRight.DoneAt())
		case n.State == jobs.NCAccepted:
			words += "; accepted as it is"
		default:
			words += "; not put right yet"
		}
		switch {
		case n.Accepted != nil && n.OwnWork:
			words += ", and accepted by whoever did it: nobody else worked on this job"
		case n.Accepted != nil && n.PutRight != nil:
			words += ", accepted on " + p.date(n.Accepted.DoneAt())
		case n.PutRight != nil:
			words += ", not yet accepted by somebody else"
		}
		out = append(out, words+".")
	}
	return out
}

func (p packer) notSeen() []string {
	lines := p.job.NotSeen("", 0)
	for _, r := range p.job.Of("sign_off") {
		for _, l := range r.What.(*jobs.SignOff).NotSeen {
			if !slices.Contains(lines, l) {
				lines = append(lines, l)
			}
		}
	}
	return jobs.NotSeenBySurface(lines)
}

func (p packer) certificates() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		for _, c := range s.Checks {
			for _, h := range c.Heads {
				if d, ok := h.What.(*jobs.CheckResult); ok && d.Certificate != "" {
					out = append(out, fmt.Sprintf("%s: %s, %s (%s)", s.Code, jobs.Lower(c.Rule.Title), d.Certificate, p.date(h.DoneAt())))
				}
			}
		}
	}
	return out
}

func (p packer) cautions() []string {
	type line struct{ code, says string }
	var lines []line
	where := map[line][]string{}
	for _, q := range jobs.CautionQuestions() {
		for _, s := range p.job.Surfaces {
			for _, c := range p.job.Cautions(s) {
				if c.Code != q.Code {
					continue
				}
				l := line{jobs.Capital(c.Code), sentence(c.Answer) + " Decided by " + c.DecidedBy + "."}
				if c.Open {
					l.says = c.Asks + " Nobody has answered this on record. It is for " + c.Who + "."
				}
				if where[l] == nil {
					lines = append(lines, l)
				}
				where[l] = append(where[l], s.Code)
			}
		}
	}
	var out []string
	for _, l := range lines {
		out = append(out, l.code+", "+jobs.JoinWords(where[l])+": "+l.says)
	}
	return out
}

func (p packer) declined() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		for _, f := range p.job.FlankingList(s) {
			switch f.State {
			case jobs.FlankDeclined:
				out = append(out, s.Code+": "+f.Name+". Treating it was declined by "+f.By+".")
			case jobs.FlankAccepted:
				out = append(out, s.Code+": "+f.Name+". "+f.By+" was told that it stays.")
			case jobs.FlankLeft:
				out = append(out, s.Code+": "+f.Name+". It was left as it is.")
			}
		}
	}
	return out
}

func (p packer) followUps() []string {
	var out []string
	for _, d := range p.job.Due(p.opt.Printed) {
		out = append(out, fmt.Sprintf("%s after handover: about %s.", jobs.Count(d.Month, "month"), p.date(d.At)))
	}
	if len(out) > 0 {
		out = append(out, "Each time the same questions, from 0 to 10, by kind of noise. If something is worse, or new, do not wait for us: call.")
	}
	return out
}

// finish says what may lie on each floor.
func (p packer) finish() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		if s.Kind != jobs.Floor {
			continue
		}
		words := s.Code + ": the outer layer is " + jobs.Lower(outermost(s)) + ". "
		out = append(out, words+"A soft covering does no harm to the sound insulation. Ask before laying stone, tiles or wood: a hard finish, or one that touches the walls, can undo what was gained for footsteps.")
	}
	return out
}

func outermost(s *jobs.Surface) string {
	if len(s.Layers) == 0 {
		return "what was there before"
	}
	return s.Layers[len(s.Layers)-1].Name()
}

func (p packer) care() []string {
	out := []string{
		"Edges: the bead round each surface is soft on purpose. Do not paint over cracks in it with filler or plaster; cut it out and fill it again with non-setting acoustic sealant.",
		"Air: leave fans, grilles, trickle vents and air bricks open. A room with an appliance that burns fuel needs its air.",
	}
	for _, st := range p.job.Structures {
		words := fmt.Sprintf("Weight: the work adds %s to %s", loadOf(p.job.StructureLoad(st)), cmp.Or(st.Name, st.Code))
		if st.LoadLimit != nil {
			words += ", of " + loadOf(*st.LoadLimit) + " agreed"
		}
		out = append(out, words+". Ask a structural engineer before adding more.")
	}
	return out
}
