package pages

import (
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
	return recordView{Where: where, Answer: "Withdraw this record?", BeforeTitle: "The record",
		Lead: []string{"It then no longer counts. It stays in the history, with the reason."},
		Form: form{Submit: "Withdraw it", Fields: []field{{Kind: "area", Name: "reason", Label: "Reason"}}}, Before: before}
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
	r.text("reason")
	return v.finish(view, r, j, pathOf(j, over))
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
