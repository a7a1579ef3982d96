package outcomes

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// What a fit needs at least: so many jobs with trouble and without, in all and for each thing looked at. Ours, after the
// usual advice of ten, halved because the penalty keeps sparse fits finite. Below, nothing is fitted.
const (
	fewestEvents   = 10
	eventsPerDrive = 5
	folds          = 5
)

// driver is one thing that may go with trouble after the work. A step is what its odds ratio is for.
type driver struct{ code, words, step string }

var drivers = []driver{
	{"margin", "margin as quoted", "1 dB more"},
	{"evidence", "mean evidence at stop checks", "1 step more of 5"},
	{"covered_unseen", "layers covered unseen", "a tenth of them more"},
	{"failed_checks", "checks that failed at work", "1 more, up to 10"},
	{"flanking_declined", "work on flanking declined", "declined"},
}

// pattern is a job as the regression sees it, in whole steps, so that jobs alike are counted and not repeated: margin in
// dB, evidence in quarters of a step, unseen in tenths, failed checks up to 10.
type pattern struct {
	margin, evidence, unseen, failed, declined, fold int8
}

type outcome struct{ n, events int }

// patternOf returns how the regression sees a job; false for one that nobody heard of, or without margin or evidence.
func patternOf(f *Facts, s standing) (pattern, bool) {
	margin, evidence := f.margin(), f.evidence()
	if !s.known || margin == nil || evidence == nil {
		return pattern{}, false
	}
	p := pattern{
		margin:   int8(max(-60, min(60, math.Round(*margin)))),
		evidence: int8(math.Round(*evidence * 4)),
		failed:   int8(min(10, f.failed())),
		fold:     int8(fold(f.Job, folds)),
	}
	if covered, unseen := f.covered(); covered > 0 {
		p.unseen = int8(math.Round(10 * float64(unseen) / float64(covered)))
	}
	if f.Declined > 0 {
		p.declined = 1
	}
	return p, true
}

func (p pattern) values() []float64 {
	return []float64{float64(p.margin), float64(p.evidence) / 4, float64(p.unseen), float64(p.failed), float64(p.declined)}
}

// Drivers is what goes together with trouble after the work: a complaint, or something put right after it. It says what
// goes with what, never why.
type Drivers struct {
	N       int `json:"n"`      // jobs with an answer, a margin and evidence
	Events  int `json:"events"` // of them with trouble
	LeftOut int `json:"left_out"`
	// Refused says why nothing was fitted; empty where something was.
	Refused string      `json:"refused"`
	Effects []Effect    `json:"effects"`
	Fit     *FitQuality `json:"fit"`
}

// Effect is the odds ratio of one step of one thing, the others being equal.
type Effect struct {
	Code      string   `json:"code"`
	Words     string   `json:"words"`
	Step      string   `json:"step"`
	OddsRatio float64  `json:"odds_ratio"`
	Interval  Interval `json:"interval_95"`
	// Open: one end of the interval lies further out than is followed.
	Open    bool   `json:"open"`
	Finding string `json:"finding"`
}

// FitQuality judges the fit on jobs that it was not made from: five parts, each predicted from the other four.
type FitQuality struct {
	Brier float64 `json:"brier"`
	// Plain is the score of giving every job the same probability: what a fit has to beat.
	Plain       float64            `json:"brier_same_for_all"`
	Calibration []CalibrationGroup `json:"calibration"`
}

func (b *Book) drivers() Drivers {
	keys := make([]pattern, 0, len(b.patterns))
	for p := range b.patterns {
		keys = append(keys, p)
	}
	slices.SortFunc(keys, func(x, y pattern) int {
		return cmp.Or(cmp.Compare(x.margin, y.margin), cmp.Compare(x.evidence, y.evidence), cmp.Compare(x.unseen, y.unseen),
			cmp.Compare(x.failed, y.failed), cmp.Compare(x.declined, y.declined), cmp.Compare(x.fold, y.fold))
	})
	d := Drivers{Effects: []Effect{}}
	for _, k := range keys {
		d.N += b.patterns[k].n
		d.Events += b.patterns[k].events
	}
	d.LeftOut = b.whole.n - d.N
	used := varying(keys)
	if d.Refused = refusal(d.N, d.Events, len(used)); d.Refused != "" {
		return d
	}
	fit, err := FitFirth(b.gather(keys, used, func(pattern) bool { return true }))
	if err != nil {
		d.Refused = "not fitted: two of the things looked at move together in every job"
		return d
	}
	for i, u := range used {
		limits, open, err := fit.Profile(i+1, Level)
		if err != nil {
			d.Refused, d.Effects = "not fitted: the intervals could not be followed", []Effect{}
			return d
		}
		e := Effect{Code: drivers[u].code, Words: drivers[u].words, Step: drivers[u].step, OddsRatio: math.Exp(fit.Beta[i+1]),
			Interval: Interval{math.Exp(limits.Low), math.Exp(limits.High)}, Open: open}
		e.Finding = e.finding()
		d.Effects = append(d.Effects, e)
	}
	d.Fit = b.judge(keys, used, fit.Beta)
	return d
}

// varying lists the things that differ between jobs: what is the same in all explains nothing.
func varying(keys []pattern) []int {
	var used []int
	for i := range drivers {
		for _, k := range keys {
			if k.values()[i] != keys[0].values()[i] {
				used = append(used, i)
				break
			}
		}
	}
	return used
}

func refusal(n, events, used int) string {
	if used == 0 {
		return "too few to say: the jobs followed up do not differ in anything looked at"
	}
	need := max(fewestEvents, eventsPerDrive*used)
	if few := min(events, n-events); few < need {
		return fmt.Sprintf("too few to say: %d jobs with trouble and %d without; %d of each are needed to look at %s", events, n-events, need, plural(used, "thing", "things"))
	}
	return ""
}

// gather makes the regression's patterns of those that keep lets through, those that differ in the fold alone put together.
func (b *Book) gather(keys []pattern, used []int, keep func(pattern) bool) []Pattern {
	var ps []Pattern
	for i, k := range keys {
		if !keep(k) {
			continue
		}
		o := b.patterns[k]
		if len(ps) > 0 && i > 0 {
			a, b := k, keys[i-1]
			a.fold, b.fold = 0, 0
			if a == b && keep(keys[i-1]) {
				ps[len(ps)-1].N += o.n
				ps[len(ps)-1].Events += o.events
				continue
			}
		}
		ps = append(ps, Pattern{X: design(k, used), Events: o.events, N: o.n})
	}
	return ps
}

func design(k pattern, used []int) []float64 {
	all := k.values()
	x := make([]float64, 1, len(used)+1)
	x[0] = 1
	for _, u := range used {
		x = append(x, all[u])
	}
	return x
}

// judge predicts each fifth of the jobs from the other four.
func (b *Book) judge(keys []pattern, used []int, start []float64) *FitQuality {
	var p, plain []float64
	var happened []bool
	for part := range folds {
		fit, err := fitFrom(b.gather(keys, used, func(k pattern) bool { return int(k.fold) != part }), slices.Clone(start))
		if err != nil {
			return nil
		}
		var n, events int
		for _, k := range keys {
			if int(k.fold) != part {
				n += b.patterns[k].n
				events += b.patterns[k].events
			}
		}
		if n == 0 {
			return nil
		}
		for _, k := range keys {
			if int(k.fold) != part {
				continue
			}
			o, prob := b.patterns[k], fit.Probability(design(k, used))
			for i := range o.n {
				p = append(p, prob)
				plain = append(plain, float64(events)/float64(n))
				happened = append(happened, i < o.events)
			}
		}
	}
	score, same := Brier(p, happened), Brier(plain, happened)
	if score == nil || same == nil {
		return nil
	}
	return &FitQuality{Brier: *score, Plain: *same, Calibration: Calibration(p, happened, 10, 10)}
}

// finding says in plain words what went together. It never says that one caused the other.
func (e Effect) finding() string {
	numbers := fmt.Sprintf("odds × %s (95 %%: %s to %s) for %s", short(e.OddsRatio), short(e.Interval.Low), short(e.Interval.High), e.Step)
	switch {
	case e.Interval.Low > 1:
		return "Jobs with more of it had trouble more often: " + numbers + ". This does not say why."
	case e.Interval.High < 1:
		return "Jobs with more of it had trouble less often: " + numbers + ". This does not say why."
	}
	return "No clear link either way: " + numbers + "."
}

// short writes a ratio with two or three figures.
func short(v float64) string {
	switch {
	case v >= 1000:
		return "over 1000"
	case v < 0.001:
		return "under 0.001"
	case v >= 10:
		return fmt.Sprintf("%.0f", v)
	case v >= 0.1:
		return fmt.Sprintf("%.2f", v)
	}
	return fmt.Sprintf("%.2g", v)
}
