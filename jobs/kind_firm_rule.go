package jobs

import "tacet/acoustics"

var _ = registerKind[FirmRule]("firm_rule", 1)

// FirmRule is what the firm has agreed with itself: what happens when nobody answers, and how much is looked at. Recorded
// in the company's own job it holds for all jobs, recorded in a job it holds for that one. What is left out keeps its
// default; the defaults are common practice of this project, no source.
type FirmRule struct {
	Common
	judge
	// CoverAfterH is how long a layer with full evidence and without a stop item waits for an answer, in hours; 0: for ever.
	CoverAfterH *float64 `json:"cover_after_h,omitempty"`
	// FullEvidence is the evidence that every check of a layer needs for that, 1 to 5.
	FullEvidence *int `json:"full_evidence,omitempty"`
	// NewFitterSurfaces is how many of a fitter's first surfaces are all looked at.
	NewFitterSurfaces *int `json:"new_fitter_surfaces,omitempty"`
	// SampleOneIn and AfterFailOneIn: of so many surfaces one is drawn, before and after something was found wrong.
	SampleOneIn    *int `json:"sample_one_in,omitempty"`
	AfterFailOneIn *int `json:"after_fail_one_in,omitempty"`
	// CleanToRelax is after how many answers without a fault in a row SampleOneIn holds again.
	CleanToRelax *int `json:"clean_to_relax,omitempty"`
	// RevisitOneIn: of so many finished jobs one is drawn to be looked at again, with an endoscope or by opening up.
	RevisitOneIn *int   `json:"revisit_one_in,omitempty"`
	Reason       string `json:"reason,omitempty"`
}

// CoverAfterRange is how long a firm may have its people wait.
var CoverAfterRange = acoustics.Range{Min: 0, Max: 720, Unit: "h"}

// DefaultFirmRule is what holds until a firm says otherwise: cover after 2 hours with evidence 3; look at the first three
// surfaces of a fitter, then at 1 in 4, at 1 in 2 after a fault, and at 1 in 4 again after five clean ones; revisit 1 job in 10.
func DefaultFirmRule() FirmRule {
	return FirmRule{CoverAfterH: new(2.0), FullEvidence: new(3), NewFitterSurfaces: new(3), SampleOneIn: new(4), AfterFailOneIn: new(2), CleanToRelax: new(5), RevisitOneIn: new(10)}
}

// Valid checks the ranges.
func (d *FirmRule) Valid() error {
	if err := optional(CoverAfterRange, "cover_after_h", d.CoverAfterH); err != nil {
		return err
	}
	for _, f := range []struct {
		field       string
		v           *int
		least, most int
	}{
		{"full_evidence", d.FullEvidence, 1, 5}, {"new_fitter_surfaces", d.NewFitterSurfaces, 0, 100}, {"sample_one_in", d.SampleOneIn, 1, 100},
		{"after_fail_one_in", d.AfterFailOneIn, 1, 100}, {"clean_to_relax", d.CleanToRelax, 1, 100}, {"revisit_one_in", d.RevisitOneIn, 1, 1000},
	} {
		if f.v != nil && (*f.v < f.least || *f.v > f.most) {
			return &InputError{Field: f.field, Value: itoa(*f.v), Range: itoa(f.least) + " to " + itoa(f.most)}
		}
	}
	if err := text("reason", d.Reason, 0, 1000); err != nil {
		return err
	}
	return d.valid()
}

// names replaces the rule that held before.
func (d *FirmRule) names(j *Job) []Ref { return refsTo(Base, j.Of("firm_rule")) }

func (d *FirmRule) apply(j *Job, r *Record) { j.put(r) }

func (d *FirmRule) says(*Job, *Record) string {
	r := d.over(DefaultFirmRule())
	return "the firm's rule: without an answer " + afterHours(*r.CoverAfterH) + ", never on a stop item; 1 surface in " + itoa(*r.SampleOneIn) + " is looked at, 1 in " + itoa(*r.AfterFailOneIn) + " after a fault"
}

func afterHours(h float64) string {
	if h == 0 {
		return "nothing is covered"
	}
	return "covered after " + trim(h) + " h with full evidence"
}

// over puts what d says over another rule.
func (d FirmRule) over(r FirmRule) FirmRule {
	if d.CoverAfterH != nil {
		r.CoverAfterH = d.CoverAfterH
	}
	for _, f := range []struct{ to, from **int }{
		{&r.FullEvidence, &d.FullEvidence}, {&r.NewFitterSurfaces, &d.NewFitterSurfaces}, {&r.SampleOneIn, &d.SampleOneIn},
		{&r.AfterFailOneIn, &d.AfterFailOneIn}, {&r.CleanToRelax, &d.CleanToRelax}, {&r.RevisitOneIn, &d.RevisitOneIn},
	} {
		if *f.from != nil {
			*f.to = *f.from
		}
	}
	return r
}

// FirmRule is the rule recorded in this job over the one given. Where two people set it without knowing of each other, the
// stricter of what they said counts until one entry names both.
func (j *Job) FirmRule(firm FirmRule) FirmRule {
	return rulesOver(firm, j.firmRules())
}

// firmRules are the rules in force that were recorded in this job.
func (j *Job) firmRules() (rules []*FirmRule) {
	for _, h := range j.Of("firm_rule") {
		rules = append(rules, h.What.(*FirmRule))
	}
	return rules
}

func rulesOver(firm FirmRule, rules []*FirmRule) FirmRule {
	r := firm
	for i, d := range rules {
		if i == 0 {
			r = d.over(firm)
			continue
		}
		r = stricter(r, d.over(firm))
	}
	return r
}

func stricter(a, b FirmRule) FirmRule {
	wait := func(x, y *float64) *float64 {
		if *x == 0 || *y == 0 {
			return new(0.0)
		}
		return new(max(*x, *y))
	}
	return FirmRule{CoverAfterH: wait(a.CoverAfterH, b.CoverAfterH), FullEvidence: new(max(*a.FullEvidence, *b.FullEvidence)),
		NewFitterSurfaces: new(max(*a.NewFitterSurfaces, *b.NewFitterSurfaces)), SampleOneIn: new(min(*a.SampleOneIn, *b.SampleOneIn)),
		AfterFailOneIn: new(min(*a.AfterFailOneIn, *b.AfterFailOneIn)), CleanToRelax: new(max(*a.CleanToRelax, *b.CleanToRelax)), RevisitOneIn: new(min(*a.RevisitOneIn, *b.RevisitOneIn))}
}
