package jobs

import (
	"cmp"
	"maps"
	"slices"
	"sync"
)

// CheckRule is one thing to check, as the trade knows it. Its wording is the default that a firm starts from; the facts
// behind it are common practice unless a source is named.
type CheckRule struct {
	Code   string
	Stage  string // the hold point it belongs to
	Title  string
	Accept string // accept when
	How    string // how it is measured
	Photo  string // W wide with the surface's code in the picture, C close with a rule in it, V along the whole run
	Fault  string // what is heard when it is wrong
	Stop   bool   // nothing is covered before it has passed or a supervisor has released it
	// Unmeasured is set where there is nothing to measure: a photo of the thing itself is then as good as a measured value.
	Unmeasured bool
	// OfBoards is set where it is about boards: before one is on there is nothing to look at, and nothing that could be hidden.
	OfBoards bool
	// Layer asks the check of a layer; Whole asks it once of the surface. One of the two is set.
	Layer func(s *Surface, l *Layer) bool
	Whole func(s *Surface) bool
	// Measures are the values it may record.
	Measures []Measure
	// Defect is what the calculation makes of a fault; nil where no published value exists: the spread widens.
	Defect func(Fault) Defect
	// Drawn is how a fault of it looks in a section; empty: as an edge with its words.
	Drawn FaultPicture
	// Suspect orders what is looked at first when a sound test fails, 1 before 2; 0: in the order of the codes.
	Suspect int
}

// FaultPicture is how a fault looks where the surface is drawn in section.
type FaultPicture string

// The pictures of faults.
const (
	DrawnOpenEdge    FaultPicture = "open_edge"    // a gap at the edge of the layer
	DrawnBridge      FaultPicture = "bridge"       // something hard from one side to the other
	DrawnMissingFill FaultPicture = "missing_fill" // wool that is not there
)

// Name is the rule as it stands in a sentence: its code, and its title in words.
func (r *CheckRule) Name() string { return r.Code + " " + Lower(r.Title) }

var checkRules = map[string]CheckRule{}

// registerCheck adds a rule; two of one code, or one asked of nothing, are programming errors found by every test.
func registerCheck(r CheckRule) string {
	if _, twice := checkRules[r.Code]; twice || (r.Layer == nil) == (r.Whole == nil) {
		panic("check rule " + r.Code + " is registered twice, or not asked of one of layer and surface")
	}
	checkRules[r.Code] = r
	return r.Code
}

// RuleOf finds a rule by code.
func RuleOf(code string) (CheckRule, bool) {
	r, ok := checkRules[code]
	return r, ok
}

// CheckRules lists the rules by code.
func CheckRules() []CheckRule { return slices.Clone(rulesByCode()) }

// rulesByCode sorts the rules once: every surface asks for them whenever it is settled.
var rulesByCode = sync.OnceValue(func() []CheckRule {
	rs := make([]CheckRule, 0, len(checkRules))
	for _, c := range slices.Sorted(maps.Keys(checkRules)) {
		rs = append(rs, checkRules[c])
	}
	return rs
})

// Check is a rule asked of one layer (or, layer 0, of a whole surface), with what was answered.
type Check struct {
	Rule     *CheckRule // one for all: nobody changes it
	Layer    int
	State    CheckState
	Evidence int       // of the strongest answer in force, as it counts; of a check that passed, of the strongest pass
	Heads    []*Record // answers in force
	Released bool      // a supervisor opened the hold point
}

// CheckState is what the answers come to.
type CheckState string

// The states of a check.
const (
	CheckOpen          CheckState = "open"
	CheckPassed        CheckState = "passed"
	CheckFailed        CheckState = "failed"
	CheckNotApplicable CheckState = "not_applicable"
	CheckCouldNotSee   CheckState = "could_not_see"
	CheckDisputed      CheckState = "disputed"
	CheckPutRight      CheckState = "put_right"
)

// settleChecks derives which checks the surface and its layers ask for, and where each stands.
func (s *Surface) settleChecks(j *Job) {
	rules := rulesByCode()
	all := make([]Check, 0, len(s.Checks)) // nearly always as many as before
	for i := range rules {
		rule := &rules[i]
		if rule.Whole != nil {
			if rule.Whole(s) {
				all = append(all, Check{Rule: rule})
			}
			continue
		}
		for _, l := range s.Layers {
			if rule.Layer(s, l) {
				all = append(all, Check{Rule: rule, Layer: l.N})
			}
		}
	}
	s.Checks = make([]*Check, len(all))
	for i := range all {
		s.Checks[i] = &all[i]
	}
	slices.SortStableFunc(s.Checks, func(a, b *Check) int {
		return cmp.Or(cmp.Compare(a.Layer, b.Layer), cmp.Compare(a.Rule.Code, b.Rule.Code))
	})
	for _, c := range s.Checks {
		c.Heads = j.heads(c.answers(s, s.inForce()), j.now())
		c.State = c.stateOf(j, c.Heads)
		for _, h := range c.Heads {
			if c.State != CheckPassed || passes(h) { // how well a fault was seen says nothing for the pass after it
				c.Evidence = max(c.Evidence, j.Evidence(h))
			}
		}
		c.Released = c.released(j, s, s.inForce(), j.now())
	}
}

// inForce names the layer list in force; none where nothing is specified.
func (s *Surface) inForce() []Hash {
	if s.List == nil {
		return nil
	}
	return []Hash{s.List.Hash}
}

// countsFor tells whether a record that counts layers does so in the list in force: checks made to an older list do not
// count for the new one.
func (j *Job) countsFor(r *Record, s *Surface) bool { return countsIn(r, s.inForce()) }

// countsIn tells whether a record says something about the layers of one of the lists. None rules nothing out.
func countsIn(r *Record, lists []Hash) bool {
	made := r.Refers(Of)
	return r.On.Layer == 0 || len(lists) == 0 || len(made) == 0 || slices.ContainsFunc(made, func(h Hash) bool { return slices.Contains(lists, h) })
}

// answers lists what was answered to the check, for one of the lists of layers.
func (c *Check) answers(s *Surface, lists []Hash) (rs []*Record) {
	for _, r := range s.of("check", c.Layer) {
		if r.On.Check == c.Rule.Code && countsIn(r, lists) {
			rs = append(rs, r)
		}
	}
	return rs
}

// Name is that of its rule.
func (c *Check) Name() string { return c.Rule.Name() }

// stateOf is what answers in force come to. A pass and anything that is no pass are a dispute, which counts as not
// passed; a remark that it could not be seen disputes nothing.
func (c *Check) stateOf(j *Job, heads []*Record) CheckState {
	var passes, fails, cured, without, unseen int
	for _, h := range heads {
		d, ok := h.What.(*CheckResult)
		if !ok {
			continue
		}
		switch d.Result {
		case Pass:
			passes++
		case Fail:
			if j.CuredBy(h) != nil {
				cured++
			} else {
				fails++
			}
		case NotApplicable:
			without++
		case CouldNotSee:
			unseen++
		}
	}
	switch {
	case passes > 0 && (fails > 0 || without > 0) || fails > 0 && without > 0:
		return CheckDisputed
	case fails > 0:
		return CheckFailed
	case passes > 0:
		return CheckPassed
	case cured > 0:
		return CheckPutRight
	case without > 0:
		return CheckNotApplicable
	case unseen > 0:
		return CheckCouldNotSee
	}
	return CheckOpen
}

// met tells whether the check no longer keeps its layer from being covered: it has passed, a supervisor has found it not
// applicable, or has released it.
func (c *Check) met(j *Job, s *Surface) bool { return c.wasMet(j, s, s.inForce(), j.now()) }

// wasMet is met for lists of layers by the place upto in the fold order.
func (c *Check) wasMet(j *Job, s *Surface, lists []Hash, upto int) bool {
	heads := j.heads(c.answers(s, lists), upto)
	switch c.stateOf(j, heads) {
	case CheckPassed:
		return true
	case CheckNotApplicable:
		if slices.ContainsFunc(heads, func(h *Record) bool { return h.Role.Judges() }) {
			return true
		}
	}
	return c.released(j, s, lists, upto)
}

// OnHold tells whether a stop check of the surface still keeps something from being covered, or from being called finished.
func (j *Job) OnHold(s *Surface) bool {
	return slices.ContainsFunc(s.Checks, func(c *Check) bool { return c.Rule.Stop && !c.met(j, s) })
}

// released tells whether a release in force by upto names the check and was given in view of every answer that is not a
// pass. An answer it did not see closes the hold point again.
func (c *Check) released(j *Job, s *Surface, lists []Hash, upto int) bool {
	for _, r := range j.heads(s.of("release", c.Layer), upto) {
		if !slices.Contains(r.What.(*Release).Checks, c.Rule.Code) || !countsIn(r, lists) {
			continue
		}
		seen := r.Refers(Sees)
		blind := slices.ContainsFunc(j.heads(c.answers(s, lists), upto), func(h *Record) bool {
			return h.What.(*CheckResult).Result != Pass && !slices.Contains(seen, h.Hash)
		})
		if !blind {
			return true
		}
	}
	return false
}

// enough is the evidence of a stop check that needs no supervisor's yes: a photo and a measured value. Common practice of
// this project, no source.
const enough = 3

// weak tells whether a stop check passed on somebody's word alone. It has passed, and what is covered on it is covered; but
// nobody who asks first is told to go ahead.
func (c *Check) weak() bool {
	return c.Rule.Stop && c.State == CheckPassed && c.Evidence < enough && !c.Released &&
		!slices.ContainsFunc(c.Heads, func(h *Record) bool { return h.Role.Judges() && passes(h) })
}

func passes(h *Record) bool {
	d, ok := h.What.(*CheckResult)
	return ok && d.Result == Pass
}

// isWeak tells whether a check is one of its layer's that passed on somebody's word alone.
func (s *Surface) isWeak(c *Check) bool {
	l := s.Layer(c.Layer)
	return l != nil && slices.Contains(l.Weak, c)
}
