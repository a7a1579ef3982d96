package outcomes

import (
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"
	"time"

	"tacet/jobs"
)

// Collect reads the outcomes of a job from its entries in force.
func Collect(j *jobs.Job) Facts {
	f := Facts{Job: j.ID, Name: j.Name, Unread: j.Unread, Baseline: map[string]int{}}
	quoted := quotesOf(j)
	for _, s := range j.Surfaces {
		f.Parts = append(f.Parts, collectPart(j, s, quoted))
	}
	f.countChecks(j)
	f.follow(j)
	f.complaints(j)
	f.tests(j, quoted)
	f.cures(j)
	f.words(j)
	f.finish(j)
	return f
}

func collectPart(j *jobs.Job, s *jobs.Surface, quoted quotes) Part {
	p := Part{Surface: s.Code, Family: FamilyOf(s.Kind, s.Specified, j.Existing(s)), Bare: len(s.Specified) == 0}
	for _, l := range s.Layers {
		if l.Covered > 0 {
			p.Covered++
			if l.CoveredUnseen {
				p.Unseen++
			}
		}
		for _, r := range l.Installs {
			if at := r.DoneAt(); p.Begun.IsZero() || at.Before(p.Begun) {
				p.Begun, p.Fitter = at, fitterOf(r)
			}
		}
	}
	var strength float64
	var stops int
	for _, c := range s.Checks {
		answered, failed := answersTo(j, c)
		p.Answered += answered
		p.Failed += failed
		if c.Rule.Stop && c.State != jobs.CheckNotApplicable {
			stops++
			strength += float64(c.Evidence)
		}
	}
	if stops > 0 {
		mean := strength / float64(stops)
		p.Evidence = &mean
	}
	p.MarginDB, p.Frozen = quoted.margin(j, s)
	return p
}

// said goes through what the records in force of a kind say. A record that can't be read here, because it was erased or a
// newer version wrote it, says nothing.
func said[T jobs.Recording](j *jobs.Job, kind string) iter.Seq2[*jobs.Record, T] {
	return func(yield func(*jobs.Record, T) bool) {
		for _, r := range j.Of(kind) {
			if d, ok := r.What.(T); ok && !yield(r, d) {
				return
			}
		}
	}
}

// fitterOf is who did the work, where that was recorded, else who recorded it.
func fitterOf(r *jobs.Record) string {
	if by := strings.TrimSpace(r.Common().By); by != "" {
		return by
	}
	return r.By
}

// answersTo counts a check as answered when it passed or failed, and as failed when it ever did, put right or not.
func answersTo(j *jobs.Job, c *jobs.Check) (answered, failed int) {
	for _, r := range c.Heads {
		switch r.What.(*jobs.CheckResult).Result {
		case jobs.Fail:
			answered, failed = 1, 1
		case jobs.Pass:
			answered = 1
		}
	}
	return answered, failed
}

func (f *Facts) countChecks(j *jobs.Job) {
	counts := map[string]CheckCount{}
	for _, s := range j.Surfaces {
		for _, c := range s.Checks {
			n := counts[c.Rule.Code]
			n.Code, n.Stop = c.Rule.Code, c.Rule.Stop
			a, b := answersTo(j, c)
			n.Answered += a
			n.Failed += b
			counts[n.Code] = n
		}
	}
	for _, code := range slices.Sorted(maps.Keys(counts)) {
		if counts[code].Answered > 0 {
			f.Checks = append(f.Checks, counts[code])
		}
	}
}

func (f *Facts) follow(j *jobs.Job) {
	for _, d := range said[*jobs.Baseline](j, "baseline") {
		f.Baseline = rated(d.Answers)
	}
	for r, d := range said[*jobs.FollowUp](j, "follow_up") {
		if d.OtherSide {
			continue // the neighbours' answer is not the client's, and there is none from before to set it beside
		}
		u := FollowUp{Month: d.Month, NoReply: d.Answers.NoReply, Answers: rated(d.Answers)}
		if d.At != "" {
			at := r.DoneAt()
			u.At = &at
		}
		f.FollowUps = append(f.FollowUps, u)
	}
}

// rated gives the answers by kind of noise.
func rated(a *jobs.Answers) map[string]int {
	out := map[string]int{}
	for _, n := range jobs.NoiseKinds() {
		if v := a.Rated(n.Code); v != nil {
			out[n.Code] = int(*v + 0.5)
		}
	}
	return out
}

func (f *Facts) complaints(j *jobs.Job) {
	ends := map[jobs.Hash]*jobs.Outcome{}
	for r, d := range said[*jobs.Outcome](j, "outcome") {
		for _, h := range r.Refers(jobs.Over) {
			ends[h] = d
		}
	}
	for r, d := range said[*jobs.Complaint](j, "complaint") {
		c := Complained{At: received(d, r), Kind: noiseCode(d.Kind), Surface: d.Surface}
		if s := j.Surface(r.On.Surface); s != nil {
			c.Surface = s.Code
		} else if len(j.Surfaces) == 1 {
			c.Surface = j.Surfaces[0].Code
		}
		if end := ends[r.Hash]; end != nil {
			c.Outcome, c.Cause = end.Outcome, end.Cause
			if end.Cost != nil {
				c.Cost = *end.Cost
			}
		}
		f.Complaints = append(f.Complaints, c)
	}
	slices.SortStableFunc(f.Complaints, func(a, b Complained) int { return a.At.Compare(b.At) })
}

// received is the date of a complaint where it was written as one, else when it was recorded.
func received(d *jobs.Complaint, r *jobs.Record) time.Time {
	for _, layout := range []string{time.RFC3339, "2006-01-02", "2 January 2006", "02/01/2006"} {
		if t, err := time.Parse(layout, strings.TrimSpace(d.Received)); err == nil {
			return t.UTC()
		}
	}
	return r.DoneAt()
}

func noiseCode(kind string) string {
	kind = strings.ToLower(strings.TrimSpace(kind))
	for _, n := range jobs.NoiseKinds() {
		if kind == n.Code {
			return kind
		}
	}
	return "other"
}

// tests puts each sound test beside the prediction of one surface: the first it names that has a prediction of the same
// quantity. One test of a partition that is treated on both sides so counts once. What was measured before the last layer
// of the surface was in place says nothing about the finished work and is held against nothing; nor does one that names no surface
// while anything is still to be put up.
func (f *Facts) tests(j *jobs.Job, quoted quotes) {
	for r, d := range said[*jobs.SoundTest](j, "sound_test") {
		if d.ValueDB == nil {
			continue
		}
		t := Test{Quantity: d.Quantity, At: r.DoneAt(), MeasuredDB: d.MeasuredDB(), LimitDB: limitOf(j, d)}
		t.Early = len(d.Surfaces) == 0 && slices.ContainsFunc(j.Surfaces, unfinished)
		for _, code := range d.Surfaces {
			s := j.Surface(code)
			if s == nil {
				continue
			}
			if done, ok := completed(s); !ok || t.At.Before(done) {
				t.Early = true
				continue
			}
			p := quoted.of(s, d.Quantity, t.At)
			if t.Surface == "" || p.value != nil {
				t.Surface, t.Family = s.Code, FamilyOf(s.Kind, s.Specified, j.Existing(s)).Code
				t.PredictedDB, t.UDB, t.Frozen, t.Partial = p.value, p.u, p.frozen, p.value != nil && roundAboutUnknown(s, d.Quantity)
			}
			if p.value != nil {
				break
			}
		}
		t.Early = t.Early && t.Surface == ""
		f.Tests = append(f.Tests, t)
	}
}

func unfinished(s *jobs.Surface) bool {
	_, done := completed(s)
	return len(s.Layers) > 0 && !done
}

// completed is when the last layer of a surface was in place; false where one is not.
func completed(s *jobs.Surface) (last time.Time, ok bool) {
	for _, l := range s.Layers {
		if l.Share < wholeShare {
			return last, false
		}
		for _, r := range l.Installs {
			if at := r.DoneAt(); at.After(last) {
				last = at
			}
		}
	}
	return last, len(s.Layers) > 0
}

// wholeShare is all of a layer but for rounding.
const wholeShare = 0.999

func limitOf(j *jobs.Job, d *jobs.SoundTest) *float64 {
	if t := j.LimitOf(d.Quantity, d.Surfaces); t != nil {
		return &t.ValueDB
	}
	return nil
}

func (f *Facts) cures(j *jobs.Job) {
	for r, d := range said[*jobs.PutRight](j, "put_right") {
		c := Cure{Cause: string(d.Cause)}
		if d.Hours != nil {
			c.Hours = *d.Hours
		}
		if d.Cost != nil {
			c.Cost = *d.Cost
		}
		for _, h := range r.Refers(jobs.Over) {
			if fault := j.ByHash(h); fault != nil {
				c.Over, c.Check = fault.Kind, fault.On.Check
				c.Late = fault.Kind == "complaint" || fault.Kind == "sound_test"
			}
		}
		f.Cures = append(f.Cures, c)
	}
}

// words counts what people signed away and reads the marks on families.
func (f *Facts) words(j *jobs.Job) {
	for _, d := range said[*jobs.Sign](j, "sign") {
		if d.Statement == "declined" {
			f.Declined++
		}
	}
	for r, d := range said[*jobs.Correction](j, "correction") {
		f.settings = append(f.settings, setting{on: *d.On, reason: d.Reason, at: r.DoneAt(), order: orderOf(r)})
	}
	for r, d := range said[*jobs.Review](j, "review") {
		f.Reviews = append(f.Reviews, ReviewMark{Family: d.Family, Flag: string(d.Flag), Reason: d.Reason, At: r.DoneAt(), order: orderOf(r)})
	}
}

// orderOf orders records of different jobs by when they were recorded.
func orderOf(r *jobs.Record) string { return fmt.Sprintf("%016x %s", uint64(r.Clk), r.ID) }

// finish dates the end of the work: the last word that accepts the job as a whole; else the last layer that went up or was
// covered, once everything is in place and no stop check holds it, or somebody has complained or answered since. A test ends
// it only where everything was in place when it was made: who tests halfway goes on. A job of which no layer was ever put up has no
// end, whatever was signed.
func (f *Facts) finish(j *jobs.Job) {
	var last time.Time
	complete := false
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			complete = true
			for _, r := range l.Installs {
				f.Started = true
				if at := r.DoneAt(); at.After(last) {
					last = at
				}
			}
		}
	}
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			complete = complete && l.Share >= wholeShare
		}
	}
	heard := len(f.Complaints)+len(f.FollowUps) > 0
	for _, t := range f.Tests {
		heard = heard || complete && !t.Early && !t.At.Before(last)
	}
	for _, r := range j.Of("cover") {
		if at := r.DoneAt(); at.After(last) {
			last = at
		}
	}
	for r, d := range said[*jobs.Sign](j, "sign") {
		if f.Started && d.Statement == "accepted" && r.On.Surface == "" {
			at := r.DoneAt()
			f.Finished = &at
		}
	}
	held := slices.ContainsFunc(j.Surfaces, j.OnHold)
	if f.Finished == nil && f.Started && (complete && !held || heard) {
		f.Finished = &last
	}
	f.OnHold = f.Finished == nil && complete && held
}
