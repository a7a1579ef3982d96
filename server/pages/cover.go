package pages

import (
	"fmt"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/cover", Roles: everybody, Get: getCover, Post: postCover, View: recordView{}})

func coverView(j *jobs.Job, s *jobs.Surface, l *jobs.Layer) recordView {
	way := wayOf(j, s, l)
	view := recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("Layer %d is covered", l.N), Stops: way.said(j, s, l), Open: way.lines(j, s),
		Lead: []string{"Covered by something that is no layer of the list: skim, paint, a floor finish."},
		Form: form{Upload: true, Submit: fmt.Sprintf("Record layer %d covered", l.N), Fields: []field{photoField("Before and after, if there is one."), noteField()}, More: commonFields()}}
	way.ask(&view.Form, "Say why it is covered all the same.")
	if len(way.Open) > 0 {
		view.Lead = append(view.Lead, "The layer then counts as covered unseen.")
	}
	return view
}

func getCover(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	return v.ask(coverView(j, s, l))
}

func postCover(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view := coverView(j, s, l)
	r := v.read(&view.Form, "cover")
	at(r.edge, s, l.N)
	r.text("note")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, surfacePath(j, s))
}
