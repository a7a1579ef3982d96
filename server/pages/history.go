package pages

import "tacet/jobs"

var (
	_ = register(Page{Name: "history", Path: "/jobs/:job/history", Roles: everybody, Get: getHistory, View: historyView{}, Looks: "the history of a job"})
	_ = register(Page{Name: "history", Path: "/jobs/:job/s/:surface/history", Roles: everybody, Get: getHistory, View: historyView{}, Looks: "the history of a job"})
)

// historyView is everything that was recorded, newest first, a stretch at a time.
type historyView struct {
	frame
	Where   []crumb
	Answer  string
	Records []recordLine
	Older   string // address of the stretch before
}

// historyStretch keeps a page light.
const historyStretch = 100

func getHistory(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	view := historyView{Where: whereJob(j)}
	rs := j.Records
	if v.param("surface") != "" {
		s := j.Surface(v.param("surface"))
		if s == nil {
			return jobs.ErrNotFound
		}
		rs, view.Where = s.Work(), whereSurface(j, s)
	}
	view.Answer = jobs.Count(len(rs), "record") + "."
	end := v.c.QueryInt("before", len(rs))
	if end < 0 || end > len(rs) {
		end = len(rs)
	}
	start := max(0, end-historyStretch)
	if start > 0 {
		view.Older = v.c.Path() + "?before=" + itoa(start)
	}
	view.Records = v.placedLines(j, rs[start:end], v.states(j))
	view.frame = v.frame("History: " + j.Name)
	return v.show("history", view)
}
