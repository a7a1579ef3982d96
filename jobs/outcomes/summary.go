package outcomes

import (
	"fmt"
	"maps"
	"slices"

	"tacet/jobs"
)

// Summary is what a firm's jobs came to.
type Summary struct {
	Jobs       JobCounts       `json:"jobs"`
	Families   []FamilySummary `json:"families"`
	Quantities []Pooling       `json:"quantities"`
	Complaints Complaints      `json:"complaints"`
	Drivers    Drivers         `json:"drivers"`
	Before     []Change        `json:"before_and_after"`
	Process    Process         `json:"process"`
	Correction CorrectionState `json:"correction"`
	Findings   []string        `json:"findings"`
	Notes      []string        `json:"notes"`
}

// JobCounts says of how many jobs the summary knows what.
type JobCounts struct {
	N         int `json:"n"`
	Running   int `json:"still_worked_on"`
	OnHold    int `json:"on_hold"` // of these: all in place, and a stop check open
	Over      int `json:"over"`
	Known     int `json:"heard_of_since"` // answered or complained
	Unknown   int `json:"unknown"`        // nobody answered: neither good nor bad
	Undated   int `json:"end_not_recorded"`
	Tested    int `json:"tested"`
	Early     int `json:"tests_before_the_work_was_complete"`
	Unmatched int `json:"tests_without_prediction_of_the_same_quantity"`
}

// Complaints is the rate of complaints over all jobs, and in groups of them.
type Complaints struct {
	Any   Rate        `json:"any"`
	Ours  Rate        `json:"ours"`
	Free  Free        `json:"complaint_free"`
	Noise []NoiseLine `json:"by_noise"`
	By    []GroupLine `json:"by"`
}

// NoiseLine is the share of jobs with a complaint of one kind of noise.
type NoiseLine struct {
	Noise string `json:"noise"`
	Heard string `json:"heard"`
	Rate  Rate   `json:"rate"`
}

// GroupLine is one way to sort jobs.
type GroupLine struct {
	Code   string      `json:"code"`
	Title  string      `json:"title"`
	Levels []LevelLine `json:"levels"`
}

// LevelLine is one level of it.
type LevelLine struct {
	Level string `json:"level"`
	Rate  Rate   `json:"rate"`
}

// Summary works out what has changed since it was last asked for.
func (b *Book) Summary() Summary {
	if b.summary != nil {
		return *b.summary
	}
	s := Summary{Families: []FamilySummary{}, Jobs: b.jobCounts()}
	for _, code := range slices.Sorted(maps.Keys(b.families)) {
		c := b.families[code]
		if len(c.parts) == 0 && len(c.marks) == 0 {
			continue
		}
		f := *c.summary(b)
		f.Differences = slices.Clone(f.Differences)
		f.Review = f.review(c.marks)
		s.Families = append(s.Families, f)
	}
	s.Quantities = pool(s.Families)
	for i := range s.Families {
		s.Families[i].Findings = s.Families[i].findings()
	}
	s.Complaints = b.complaints()
	if b.links == nil {
		d := b.drivers()
		b.links = &d
	}
	s.Drivers = *b.links
	s.Before = b.tallies.beforeAfter()
	s.Process = b.tallies.process()
	s.Correction = b.correction()
	s.Findings = s.findings()
	s.Notes = notes()
	b.summary = &s
	return s
}

func (b *Book) jobCounts() JobCounts {
	t := &b.tallies
	return JobCounts{N: b.real, Running: b.running, OnHold: b.held, Over: b.real - b.running, Known: b.whole.n, Unknown: b.whole.unknown,
		Undated: t.undated, Tested: t.tested, Early: t.early, Unmatched: t.unmatched}
}

func (b *Book) complaints() Complaints {
	w := b.whole
	c := Complaints{Any: RateOf(w.complaints, w.n, w.unknown), Ours: RateOf(w.ours, w.n, w.unknown), Noise: []NoiseLine{}, By: []GroupLine{}}
	c.Free = freeOf(b.tallies.followed.list())
	for _, n := range jobs.NoiseKinds() {
		c.Noise = append(c.Noise, NoiseLine{n.Code, n.Heard, RateOf(b.noise[n.Code], w.n, w.unknown)})
	}
	for i, g := range groupings {
		line := GroupLine{Code: g.code, Title: g.title}
		for _, level := range g.levels {
			n := b.counts[i][level]
			line.Levels = append(line.Levels, LevelLine{level, RateOf(n.complaints, n.n, n.unknown)})
		}
		c.By = append(c.By, line)
	}
	return c
}

// findings says in plain words what the family's numbers allow to be said.
func (s FamilySummary) findings() []string {
	out := []string{}
	for _, d := range s.Differences {
		out = append(out, d.finding())
	}
	return append(out, rateWords("complaints", s.Complaints))
}

func (d DifferenceView) finding() string {
	m := d.Own
	if m.N < FewestForRate {
		return fmt.Sprintf("%s measured less predicted: %s, too few to say.", d.Words, plural(m.N, "job", "jobs"))
	}
	says := fmt.Sprintf("%s measured less predicted: %s dB on average over %d jobs (95 %%: %s to %s dB)", d.Words, signed(*m.Mean), m.N, signed(m.Interval.Low), signed(m.Interval.High))
	if d.Partial > 0 {
		says += fmt.Sprintf(", in %d of which the prediction leaves out flanking, which was not known", d.Partial)
	}
	switch {
	case m.Interval.Holds(0):
		return says + "; no difference can be told from these."
	case (*m.Mean > 0) != lowerIsBetter(d.Quantity):
		return says + "; better than predicted in the jobs that were tested, which are not a fair sample of all."
	}
	return says + "; worse than predicted in the jobs that were tested, which are not a fair sample of all."
}

// rateWords says a rate in one sentence, or that there are too few.
func rateWords(what string, r Rate) string {
	unknown := ""
	if r.Unknown > 0 {
		unknown = fmt.Sprintf("; of %s nothing is known", plural(r.Unknown, "more job", "more jobs"))
	}
	if r.Share == nil {
		return fmt.Sprintf("%s in %d of %s (%s to %s)%s: too few to say.", jobs.Capital(what), r.Events, plural(r.N, "job", "jobs"), percent(r.Exact.Low), percent(r.Exact.High), unknown)
	}
	return fmt.Sprintf("%s in %d of %d jobs, %s (95 %%: %s to %s)%s.", jobs.Capital(what), r.Events, r.N, percent(*r.Share), percent(r.Wilson.Low), percent(r.Wilson.High), unknown)
}

func (s Summary) findings() []string {
	out := []string{rateWords("complaints", s.Complaints.Any)}
	for _, f := range s.Families {
		if f.Review.Due {
			out = append(out, "Family "+f.Code+" asks for a review: "+f.Review.Proposal()+".")
		}
	}
	if s.Drivers.Refused != "" {
		out = append(out, "What goes with trouble after the work: "+s.Drivers.Refused+".")
	}
	for _, e := range s.Drivers.Effects {
		out = append(out, jobs.Capital(e.Words)+". "+e.Finding)
	}
	for _, c := range s.Before {
		if c.Enough && !c.Mean.Interval.Holds(0) {
			out = append(out, fmt.Sprintf("%s: judged %s after the work than before, on a scale of 0 to 10, in %d homes (95 %%: %s to %s).", jobs.Capital(c.Heard), signed(*c.Mean.Mean), c.Mean.N, signed(c.Mean.Interval.Low), signed(c.Mean.Interval.High)))
		}
	}
	return out
}

// notes is what must be known to read any of it.
func notes() []string {
	return []string{
		"Jobs that were tested are not a fair sample: the worst cases get tested.",
		"Jobs of which nobody was heard since are unknown: they are counted beside the rates and never as successes.",
		"Complaints come in by themselves, answers only when somebody asks: where follow-ups stop early, the share without a complaint falls too far.",
		"What goes together does not cause each other: none of these numbers says why.",
		"Each job counts once in a family, however many of its surfaces or tests belong there.",
		"Measured values are compared with predictions of the same quantity only; predictions that were not frozen when they were quoted are marked.",
		"95 % intervals: shares by Wilson and by Clopper and Pearson; means by Student; families pooled with the spread's own uncertainty (after Morris 1983, Morris and Tang 2011); shares over time by Kaplan and Meier; regression with Firth's penalty.",
	}
}

// signed writes a difference with its sign, to one decimal.
func signed(v float64) string {
	s := fmt.Sprintf("%+.1f", v)
	switch {
	case s == "-0.0" || s == "+0.0":
		return "0.0"
	case s[0] == '-':
		return "−" + s[1:]
	}
	return s
}

func percent(share float64) string {
	switch p := 100 * share; {
	case p == 0 || p == 100:
		return fmt.Sprintf("%.0f %%", p)
	case p < 10 || p > 90:
		return fmt.Sprintf("%.1f %%", p)
	default:
		return fmt.Sprintf("%.0f %%", p)
	}
}
