package outcomes

import (
	"math"
	"time"

	"tacet/jobs"
)

// FamilySummary is what one family of build-ups did over all jobs. Each job counts once.
type FamilySummary struct {
	Family
	Jobs        int              `json:"jobs"` // whose work ended, or that somebody was heard of
	Differences []DifferenceView `json:"differences"`
	Complaints  Rate             `json:"complaints"`
	Ours        Rate             `json:"complaints_ours"`
	Free        Free             `json:"complaint_free"`
	Review      ReviewState      `json:"review"`
	Findings    []string         `json:"findings"`

	last []jobLine
}

// jobLine is one job of a family, for the family's page.
type jobLine struct {
	Job, Name string
	Finished  *time.Time
	Standing  standing
}

// JobLine is one job of a family's list.
type JobLine struct {
	Job      string     `json:"job"`
	Name     string     `json:"name"`
	Finished *time.Time `json:"finished"`
	After    string     `json:"after"` // what is known after the work, in words
}

// List gives the family's jobs, the last finished first.
func (f FamilySummary) List() []JobLine {
	out := make([]JobLine, 0, len(f.last))
	for i := len(f.last) - 1; i >= 0; i-- {
		l := f.last[i]
		out = append(out, JobLine{l.Job, l.Name, l.Finished, l.Standing.words()})
	}
	return out
}

func (s standing) words() string {
	switch {
	case s.putRight:
		return "complaint, ours, put right"
	case s.ours:
		return "complaint, ours"
	case s.complained:
		return "complaint"
	case s.known:
		return "asked, no complaint"
	}
	return "not known"
}

// DifferenceView is measured less predicted, of one quantity in one family.
type DifferenceView struct {
	Quantity string `json:"quantity"`
	Words    string `json:"words"`
	Unit     string `json:"unit"`
	// Own is the family by itself; one value for each job, the mean of its tests.
	Own    Mean `json:"own"`
	Tests  int  `json:"tests"`
	Frozen int  `json:"jobs_with_frozen_prediction"`
	// Partial counts the jobs whose prediction leaves out flanking, because it was not known.
	Partial int         `json:"jobs_with_flanking_left_out"`
	Pooled  *PooledView `json:"pooled"` // drawn towards the other families; nil where it can't be said
	Drift   *Slope      `json:"drift_db"`
	Points  []Point     `json:"points"`
}

// PooledView is the pooled mean difference of a family.
type PooledView struct {
	MeanDB    float64  `json:"mean_db"`
	Interval  Interval `json:"interval_95_db"`
	OwnWeight float64  `json:"own_weight"`
	// NextSDDB is the spread of the next job's difference about MeanDB: what a corrected prediction is worth.
	NextSDDB float64 `json:"next_sd_db"`
}

// Point is one job's tests of a family beside their predictions, means where there were several.
type Point struct {
	Job         string    `json:"job"`
	At          time.Time `json:"at"`
	Tests       int       `json:"tests"`
	PredictedDB float64   `json:"predicted_db"`
	UDB         *float64  `json:"u_db"`
	MeasuredDB  float64   `json:"measured_db"`
	Frozen      bool      `json:"frozen"`
	Partial     bool      `json:"flanking_left_out"`
}

// DifferenceDB is measured less predicted.
func (p Point) DifferenceDB() float64 { return p.MeasuredDB - p.PredictedDB }

// summary works a family out anew.
func (c *chapter) summary(b *Book) *FamilySummary {
	if c.done != nil {
		return c.done
	}
	s := &FamilySummary{Family: c.family, Differences: []DifferenceView{}, Findings: []string{}}
	fs := make([]*Facts, 0, len(c.parts))
	for job := range c.parts {
		fs = append(fs, b.jobs[job])
	}
	var n count
	var followed []Followed
	points := map[string][]Point{}
	for _, f := range ordered(fs) {
		f.points(c.family.Code, points)
		if !f.over() {
			continue
		}
		st := f.standing(c.parts[f.Job])
		n.add(st, 1)
		if st.dated {
			followed = append(followed, st.followed)
		}
		s.last = append(s.last, jobLine{f.Job, f.Name, f.Finished, st})
	}
	s.Jobs = len(s.last)
	s.Complaints, s.Ours = RateOf(n.complaints, n.n, n.unknown), RateOf(n.ours, n.n, n.unknown)
	s.Free = freeOf(followed)
	for _, q := range jobs.Quantities() {
		if ps := points[q]; len(ps) > 0 {
			s.Differences = append(s.Differences, differenceView(q, ps))
		}
	}
	c.done = s
	return s
}

// points adds one point for each quantity in which the job was tested in the family.
func (f *Facts) points(family string, to map[string][]Point) {
	for _, q := range jobs.Quantities() {
		var p Point
		var n float64
		for _, t := range f.Tests {
			if t.Family != family || t.Quantity != q || t.PredictedDB == nil {
				continue
			}
			if n == 0 {
				p = Point{Job: f.Job, At: t.At, UDB: t.UDB, Frozen: true}
			}
			n++
			p.Tests++
			p.PredictedDB += *t.PredictedDB
			p.MeasuredDB += t.MeasuredDB
			p.Frozen = p.Frozen && t.Frozen
			p.Partial = p.Partial || t.Partial
		}
		if n > 0 {
			p.PredictedDB /= n
			p.MeasuredDB /= n
			to[q] = append(to[q], p)
		}
	}
}

func differenceView(quantity string, ps []Point) DifferenceView {
	d := DifferenceView{Quantity: quantity, Words: jobs.QuantityName(quantity), Unit: "dB", Points: ps}
	years := make([]float64, len(ps))
	for i, p := range ps {
		d.Tests += p.Tests
		if p.Frozen {
			d.Frozen++
		}
		if p.Partial {
			d.Partial++
		}
		years[i] = p.At.Sub(ps[0].At).Hours() / (12 * meanMonth)
	}
	d.Own = MeanOf(d.values(), Level)
	d.Drift = Drift(years, d.values(), Level)
	return d
}

func (d DifferenceView) values() []float64 {
	vs := make([]float64, len(d.Points))
	for i, p := range d.Points {
		vs[i] = p.DifferenceDB()
	}
	return vs
}

// Free is the share of jobs without a complaint over the months after the work. Jobs whose follow-ups stopped are censored
// there; jobs of which nothing is known, or whose end was not recorded, are not in it.
type Free struct {
	Curve
	At []FreeAt `json:"at"`
}

// FreeAt is the share at one of the months at which is asked.
type FreeAt struct {
	Month  int      `json:"month"`
	Known  bool     `json:"known"` // somebody was followed that long, and there are enough to say
	Share  float64  `json:"share"`
	Limits Interval `json:"interval_95"`
	AtRisk int      `json:"at_risk"`
}

func freeOf(units []Followed) Free {
	f := Free{Curve: KaplanMeier(units, Level), At: []FreeAt{}}
	for _, m := range []int{1, 3, 12} {
		a := FreeAt{Month: m, AtRisk: f.atRisk(units, float64(m)), Limits: Interval{0, 1}}
		share, limits, known := f.Curve.At(float64(m), units)
		if known && f.N >= FewestForRate {
			a.Known, a.Share, a.Limits = true, share, limits
		}
		f.At = append(f.At, a)
	}
	return f
}

// pool draws the families' mean differences of each quantity towards each other.
func pool(families []FamilySummary) []Pooling {
	out := []Pooling{}
	for _, q := range jobs.Quantities() {
		var values [][]float64
		var at [][2]int
		n := 0
		for i := range families {
			for k, d := range families[i].Differences {
				if d.Quantity == q {
					values, at = append(values, d.values()), append(at, [2]int{i, k})
					n += len(d.Points)
				}
			}
		}
		if n == 0 {
			continue
		}
		p := Pool(values, Level)
		v := Pooling{Quantity: q, Words: jobs.QuantityName(q), Families: len(values), Jobs: n, Partly: p.Partly}
		if p.Partly {
			v.Overall = &PooledView{MeanDB: p.Overall, Interval: p.Interval, NextSDDB: p.New.NextSD}
			v.WithinDB, v.BetweenDB = &p.Within, &p.Between
		}
		for i, f := range p.Families {
			// A copy: what the chapter keeps is of the family alone.
			if math.IsInf(f.Interval.Low, 0) {
				continue
			}
			families[at[i][0]].Differences[at[i][1]].Pooled = &PooledView{MeanDB: f.Mean, Interval: f.Interval, OwnWeight: f.Own, NextSDDB: f.NextSD}
		}
		out = append(out, v)
	}
	return out
}

// Pooling is one quantity over all families.
type Pooling struct {
	Quantity  string      `json:"quantity"`
	Words     string      `json:"words"`
	Families  int         `json:"families"`
	Jobs      int         `json:"jobs"`
	Partly    bool        `json:"partly_pooled"` // false: too few families, each stands alone
	Overall   *PooledView `json:"overall"`
	WithinDB  *float64    `json:"within_sd_db"`
	BetweenDB *float64    `json:"between_sd_db"`
}
