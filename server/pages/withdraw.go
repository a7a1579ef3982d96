package pages

import (
	"slices"
	"time"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/withdraw/:over", Roles: everybody, Get: getWithdraw, Post: postWithdraw, View: recordView{}})

func withdrawView(v *visit, j *jobs.Job, r *jobs.Record) recordView {
	where := whereJob(j)
	if s := j.Surface(r.On.Surface); s != nil {
		where = whereSurface(j, s)
	}
	before := v.recordLines(j, []*jobs.Record{r}, v.states(j))
	before[0].Withdraw = "" // that is this page
	f := form{Submit: "Withdraw it", Fields: []field{{Kind: "area", Name: "reason", Label: "Reason"}}}
	if with := inOneGo(j, r); len(with) > 0 {
		box := field{Kind: "box", Name: "also", Label: "Recorded with it", Aside: true}
		for _, w := range with {
			box.Options = append(box.Options, option{Value: w.ID, Label: jobs.Capital(j.Says(w)), Checked: true})
		}
		f.Fields = append(f.Fields, box)
	}
	return recordView{Where: where, Answer: "Withdraw this record?", BeforeTitle: "The record",
		Lead: []string{"It then no longer counts. It stays in the history, with the reason."},
		Form: f, Before: before}
}

// inOneGo lists what was recorded together with a record by one answer: a supervisor's yes releases stop checks beside it, and neither
// means much without the other. What is not in force any more is left out.
func inOneGo(j *jobs.Job, r *jobs.Record) []*jobs.Record {
	if r.Kind != "audit" && r.Kind != "release" {
		return nil
	}
	of := func(other *jobs.Record) bool {
		near := other.Clk.Time().Sub(r.Clk.Time()).Abs() < time.Second
		return near && other.Dev == r.Dev && other.By == r.By && other.On.Surface == r.On.Surface && (other.Kind == "audit" || other.Kind == "release")
	}
	var with []*jobs.Record
	audits := 0
	for _, other := range j.Records {
		if other.ID != r.ID && of(other) && j.InForce(other) {
			with = append(with, other)
		}
		if other.Kind == "audit" && of(other) {
			audits++
		}
	}
	if audits != 1 { // releases by themselves, or answers that can't be told apart
		return nil
	}
	return with
}

func getWithdraw(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	over, err := v.named(j, "over")
	if err != nil {
		return err
	}
	return v.ask(withdrawView(v, j, over))
}

func postWithdraw(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	over, err := v.named(j, "over")
	if err != nil {
		return err
	}
	view := withdrawView(v, j, over)
	r := v.read(&view.Form, "withdraw")
	r.edge["over"] = over.ID
	why := r.text("reason")
	var also []map[string]any
	for _, with := range inOneGo(j, over) {
		if slices.Contains(formValues(v.c, "also"), with.ID) {
			also = append(also, map[string]any{"do": "withdraw", "over": with.ID, "reason": why})
		}
	}
	return v.finish(view, r, j, pathOf(j, over), also...)
}

// pathOf is the page that shows what a record is about: its surface, that of the record it answers, or the job.
func pathOf(j *jobs.Job, r *jobs.Record) string {
	for _, h := range r.Refers(jobs.Over) {
		if named := j.ByHash(h); named != nil && named.On.Surface != "" {
			r = named
		}
	}
	if s := j.Surface(r.On.Surface); s != nil {
		return surfacePath(j, s)
	}
	return jobPath(j)
}
