package pages

import (
	"fmt"
	"strings"
	"time"

	"tacet/jobs"
)

var _ = register(Page{Name: "office", Path: "/jobs/:job/non-conformances", Roles: everybody, Get: getNonConformances, View: officeView{}})

var gradeWords = map[jobs.Grade]string{jobs.GradeStop: "Stop: nothing is covered before it is put right", jobs.GradePutRight: "To be put right before sign-off", jobs.GradeNote: "Known, and lived with"}

// getNonConformances shows what was found wrong on its way to being accepted, and what putting right took by cause.
func getNonConformances(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	all := j.NonConformances()
	groups := []struct {
		state jobs.NonConformanceState
		title string
		empty string
	}{{jobs.NCFound, "Found", "Nothing waits to be put right."}, {jobs.NCPutRight, "Put right, to be accepted", "Nothing waits to be accepted."}, {jobs.NCAccepted, "Accepted", "Nothing yet."}}
	view := officeView{Where: whereJob(j)}
	costs := costsOf(j, all)
	failed := failedTests(j)
	open := len(failed)
	if open > 0 {
		view.Parts = append(view.Parts, officePart{Title: "Sound tests that fail", Lead: []string{"Each stays here until a new test replaces it."}, Rows: failed})
	}
	for _, g := range groups {
		p := officePart{Title: g.title, Empty: g.empty, Closed: g.state == jobs.NCAccepted}
		for _, n := range all {
			if n.State == g.state {
				p.Rows = append(p.Rows, v.nonConformance(j, n, costs[n.Found.ID]))
			}
		}
		view.Parts = append(view.Parts, p)
	}
	for _, n := range all {
		if n.Open() {
			open++
		}
	}
	view.Answer = "Nothing is left to put right."
	if open > 0 {
		view.Answer = fmt.Sprintf("%d of %s not yet put right and accepted.", open, jobs.Count(len(failed)+len(all), "fault"))
	}
	causesTable := table{Caption: "By cause, not by blame; hours and cost as far as they were given.", Head: []string{"times", "hours", "cost"}}
	for _, c := range j.PutRightByCause() {
		hours, cost := dash, dash // of nobody who gave none
		if c.Hours > 0 {
			hours = withUnit(decimal(c.Hours, 1), "h")
		}
		if c.Cost > 0 {
			cost = money(c.Cost, j.Currency())
		}
		causesTable.row(causes[c.Cause], itoa(c.N), hours, cost)
	}
	causesTable.known()
	p := officePart{Title: "What putting right took", Empty: "Nothing was put right yet."}
	if len(causesTable.Rows) > 0 {
		p.Tables = []table{causesTable}
	}
	view.Parts = append(view.Parts, p)
	view.frame = v.frame("Non-conformances: " + j.Name)
	return v.show("office", view)
}

// costsOf are what the faults that nobody has put right yet cost, by the record that found them. Surfaces on one structure are worked out
// together, so one of them answers for all.
func costsOf(j *jobs.Job, all []jobs.NonConformance) map[string]string {
	costs := map[string]string{}
	for _, n := range all {
		s := j.Surface(n.On.Surface)
		if _, known := costs[n.Found.ID]; known || s == nil || n.State != jobs.NCFound || n.On.Check == "" {
			continue
		}
		for _, c := range j.Costs(s) {
			costs[c.Record.ID] = costSays(c)
		}
	}
	return costs
}

// costSays is what a fault costs by itself, with how sure that is.
func costSays(c jobs.DefectCost) string {
	if c.LossDB == nil {
		return sentence(c.Says)
	}
	return "By itself it costs " + decimal(*c.LossDB, 1) + plusMinus + withUnit(decimal(*c.UDB, 1), "dB") + " of Rw."
}

// coveredOver tells whether the layer of a fault is covered.
func coveredOver(j *jobs.Job, n jobs.NonConformance) bool {
	s := j.Surface(n.On.Surface)
	if s == nil {
		return false
	}
	l := s.Layer(n.On.Layer)
	return l != nil && l.Covered > 0
}

func (v *visit) nonConformance(j *jobs.Job, n jobs.NonConformance, cost string) officeRow {
	r := officeRow{Name: strings.TrimSpace(placeOf(n.On) + ": " + n.Title), Says: []string{sentence(n.Saw) + " " + v.name(n.Found.By) + ", " + v.when(n.Found.DoneAt()) + "."}}
	if !strings.Contains(n.Saw, n.Consequence) { // a supervisor's note is both
		r.Says = append(r.Says, sentence(n.Consequence))
	}
	if cost != "" {
		r.Says = append(r.Says, cost)
	}
	switch {
	case n.State == jobs.NCPutRight && n.Grade == jobs.GradeStop && coveredOver(j, n):
		r.Mark = "Stop, and it is covered: a supervisor accepts what was put right, or has it opened."
	case n.Open() && n.Grade == jobs.GradeStop && coveredOver(j, n):
		r.Mark = "Stop, and it is covered already: it has to be opened, or a supervisor says why it stays."
	case n.Open():
		r.Mark = gradeWords[n.Grade] + "."
	case n.Grade == jobs.GradeStop:
		r.Says = append(r.Says, "It was a stop.")
	case n.Grade == jobs.GradeNote:
		r.Says = append(r.Says, gradeWords[n.Grade]+".")
	}
	if n.Acts != "" {
		r.Says = append(r.Says, n.Acts+" has to act.")
	}
	if t, err := time.Parse(time.RFC3339, n.Until); err == nil {
		r.Says = append(r.Says, "By "+v.when(t)+".")
	}
	if n.Disputed {
		r.Says = append(r.Says, "Disputed: somebody else found it right.")
	}
	if n.PutRight != nil {
		says := fmt.Sprintf("Put right by %s, %s. Cause: %s, %s.", v.name(n.PutRight.By), v.when(n.PutRight.DoneAt()), jobs.Lower(causes[n.Cause]), withUnit(decimal(n.Hours, 1), "h"))
		r.Says = append(r.Says, says)
	}
	if n.Accepted != nil {
		r.Says = append(r.Says, "Accepted by "+v.name(n.Accepted.By)+", "+v.when(n.Accepted.DoneAt())+".")
		if n.OwnWork {
			r.Says = append(r.Says, "By the same person who put it right: nobody else recorded on the job.")
		}
	}
	s := j.Surface(n.On.Surface)
	if s == nil {
		return r
	}
	switch {
	case n.State == jobs.NCFound && n.Grade != jobs.GradeNote:
		r.Steps = append(r.Steps, step{"Record it put right", surfacePath(j, s) + "/right/" + n.Found.ID})
	case n.State == jobs.NCPutRight && v.who.Role.Judges() && n.On.Layer > 0:
		r.Steps = append(r.Steps, step{"Look and answer", layerPath(j, s, n.On.Layer, "answer")})
	}
	r.Steps = append(r.Steps, step{"Open " + s.Code, surfacePath(j, s)})
	return r
}
