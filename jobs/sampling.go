package jobs

import (
	"crypto/sha256"
	"encoding/binary"
	"slices"
)

// What is looked at is drawn by the program after the evidence is in, from the hash of the entry that said that a surface
// was ready. Nobody can choose a hash without making the entry anew, and the first one counts, so that making it anew
// changes nothing.

// visit is one surface of one job, by id and code.
type visit struct{ job, surface string }

// firstWork is somebody's first work on a surface.
type firstWork struct {
	who string
	on  visit
	at  Envelope
}

// firstWorks lists who put something in place on which surface of the job.
func firstWorks(j *Job) (firsts []firstWork) {
	for _, s := range j.Surfaces {
		seen := map[string]bool{}
		for _, r := range s.work {
			if who := r.Doer(); r.Kind == "install" && !seen[who] {
				seen[who] = true
				firsts = append(firsts, firstWork{who, visit{j.ID, s.Code}, r.Envelope})
			}
		}
	}
	return firsts
}

// past is what is known of each fitter from all jobs given.
type past map[string]*fitter

type fitter struct {
	surfaces []visit     // in the order of the fitter's first work on them
	answers  []fitAnswer // supervisors' answers on those surfaces, in order
}

type fitAnswer struct {
	at    Envelope
	clean bool
}

// pastOf gathers who worked where and what was found there.
func pastOf(all []Waiting) past {
	var firsts []firstWork
	answers := map[visit][]fitAnswer{}
	for _, w := range all {
		firsts = append(firsts, w.firsts...)
		for code, as := range w.answers {
			answers[visit{w.job, code}] = as
		}
	}
	slices.SortStableFunc(firsts, func(a, b firstWork) int { return a.at.before(&b.at) })
	p := past{}
	for _, f := range firsts {
		if p[f.who] == nil {
			p[f.who] = &fitter{}
		}
		p[f.who].surfaces = append(p[f.who].surfaces, f.on)
	}
	for _, f := range p {
		for _, v := range f.surfaces {
			f.answers = append(f.answers, answers[v]...)
		}
		slices.SortFunc(f.answers, func(a, b fitAnswer) int { return a.at.before(&b.at) })
	}
	return p
}

// answersOn lists what supervisors found on a surface: each answer is clean or a fault.
func answersOn(j *Job, s *Surface) []fitAnswer {
	var out []fitAnswer
	for _, r := range s.work {
		if !r.Role.Judges() || j.struckOut(r) {
			continue
		}
		switch w := r.What.(type) {
		case *Audit:
			if w.Answer != AnswerComing {
				out = append(out, fitAnswer{r.Envelope, w.Answer == AnswerCover})
			}
		case *CheckResult:
			if w.Result == Fail {
				out = append(out, fitAnswer{r.Envelope, false})
			}
		}
	}
	return out
}

// oneIn tells of how many surfaces of the fitter one is looked at, by what was found before a record.
func (f *fitter) oneIn(rule FirmRule, before Envelope) int {
	rate, clean := *rule.SampleOneIn, 0
	for _, a := range f.answers {
		if a.at.before(&before) >= 0 {
			break
		}
		if !a.clean {
			rate, clean = min(*rule.AfterFailOneIn, *rule.SampleOneIn), 0
			continue
		}
		if clean++; clean >= *rule.CleanToRelax {
			rate = *rule.SampleOneIn
		}
	}
	return rate
}

// draw decides whether the supervisor has to look at an item.
func (i *QueueItem) draw(p past, rule FirmRule) {
	i.Look = true
	if i.Why == QueueCoveredUnseen {
		i.Because = "covered unseen"
		return
	}
	if i.Why == QueuePutRight {
		i.Because = "put right: somebody else has to accept it"
		return
	}
	var stops []*Check
	for _, c := range i.Surface.ChecksOf(i.Layer.N) {
		if c.Rule.Stop {
			stops = append(stops, c)
		}
	}
	if len(stops) > 0 {
		i.Because = "stop checks " + CheckNames(stops)
		return
	}
	ready := i.firstReady()
	rate := *rule.SampleOneIn
	for _, r := range i.Layer.Installs {
		f := p[r.Doer()]
		if f == nil {
			continue
		}
		n := slices.Index(f.surfaces, visit{i.Job.ID, i.Surface.Code})
		if n >= 0 && n < *rule.NewFitterSurfaces {
			i.Because = "surface " + itoa(n+1) + " of a fitter whose first " + itoa(*rule.NewFitterSurfaces) + " are all looked at"
			return
		}
		rate = min(rate, f.oneIn(rule, ready.Envelope))
	}
	i.Look = Drawn(ready.Hash, rate)
	i.Because = "drawn, 1 surface in " + itoa(rate)
	if !i.Look {
		i.Because = "not drawn, 1 surface in " + itoa(rate) + " is"
	}
}

// firstReady is the first record, in force or not, by which the surface was said to be ready.
func (i *QueueItem) firstReady() *Record {
	var first *Record
	for _, r := range i.Surface.work {
		if r.Kind == "ready" && (first == nil || r.pos < first.pos) {
			first = r
		}
	}
	return first
}

// Revisit tells whether a finished job is drawn to be looked at again, from the first record that signed it off.
func (j *Job) Revisit(rule FirmRule) bool {
	for _, r := range j.Records {
		if r.Kind == "sign_off" && r.On.Surface == "" {
			return Drawn(r.Hash, *j.FirmRule(rule).RevisitOneIn)
		}
	}
	return false
}

// Drawn tells whether a surface is one of those that are looked at, 1 in n of them.
func Drawn(ready Hash, n int) bool {
	d := sha256.New()
	d.Write([]byte("tacet draw 1\n"))
	d.Write(ready[:])
	return n > 0 && binary.BigEndian.Uint64(d.Sum(nil))%uint64(n) == 0
}
