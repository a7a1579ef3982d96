package pages

import (
	"fmt"
	"time"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/ready", Roles: everybody, Get: getReady, Post: postReady, View: recordView{}})

// readyDays is how many days ahead a planned time can be chosen without writing a date.
const readyDays = 4

func readyView(v *visit, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) recordView {
	view := recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("Layer %d is ready to be seen", l.N)}
	switch back := (step{"Back to layer " + itoa(l.N) + " of " + s.Code, surfacePath(j, s) + "#layer-" + itoa(l.N)}); {
	case l.Share == 0:
		return recordView{Where: view.Where, Answer: fmt.Sprintf("Layer %d is not in place yet.", l.N), Link: back}
	case l.Covered >= l.Share-1e-9:
		return recordView{Where: view.Where, Answer: fmt.Sprintf("Layer %d is covered already.", l.N), Link: back, BeforeTitle: "What covered it",
			Before: v.placedLines(j, []*jobs.Record{l.CoveredBy}, v.states(j))}
	}
	for _, c := range l.Open {
		view.Stops = append(view.Stops, stopLine{c.Name() + " " + standsWords([]*jobs.Check{c}) + ".", checkPath(j, s, c)})
	}
	day := field{Kind: "choice", Name: "day", Label: "Planned to be covered", Options: []option{{Value: "", Label: "Not known yet", Checked: true}}}
	now := v.deps.Now().In(v.deps.Zone)
	for i := range readyDays {
		d := now.AddDate(0, 0, i)
		label := d.Format("Monday 2 January")
		if i == 0 {
			label = "Today, " + label
		}
		day.Options = append(day.Options, option{Value: d.Format(time.DateOnly), Label: label})
	}
	view.Form = form{Submit: "Record it ready to be seen", More: commonFields(), Fields: []field{day,
		{Kind: "time", Name: "cover_at", Label: "At", Hint: "Hours and minutes, such as 16:30."}, noteField()}}
	return view
}

func getReady(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	return v.ask(readyView(v, j, s, l))
}

func postReady(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view := readyView(v, j, s, l)
	if view.Form.Submit == "" {
		return v.askAgain(view)
	}
	r := v.read(&view.Form, "ready")
	at(r.edge, s, l.N)
	day := v.c.FormValue("day")
	switch hours := r.text("cover_at"); {
	case day == "":
		delete(r.edge, "cover_at")
	default:
		if _, ok := timeOfDay(hours); !ok {
			r.f.complain("cover_at", "Write the time as 16:30, or choose that it is not known yet.")
			break
		}
		t, ok := timeOn(day, hours, v.deps.Zone)
		if !ok {
			r.f.complain("day", "Choose one of the days.")
			break
		}
		r.edge["cover_at"] = t.Format(time.RFC3339)
	}
	r.text("note")
	r.common()
	return v.finish(view, r, j, surfacePath(j, s))
}
