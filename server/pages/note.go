package pages

import (
	"strconv"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "record", Path: "/jobs/:job/note", Roles: everybody, Get: getNote, Post: postNote, View: recordView{}})
	_ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/note", Roles: everybody, Get: getNote, Post: postNote, View: recordView{}})
)

// noteOn is what a note is about: the job, a surface, or a layer of it.
func (v *visit) noteOn() (j *jobs.Job, s *jobs.Surface, layer int, err error) {
	if v.param("surface") == "" {
		j, err = v.job()
		return j, nil, 0, err
	}
	if j, s, err = v.surface(); err != nil {
		return nil, nil, 0, err
	}
	if n, bad := strconv.Atoi(v.c.Query("layer")); bad == nil && s.Layer(n) != nil {
		layer = n
	}
	return j, s, layer, nil
}

func noteView(j *jobs.Job, s *jobs.Surface, layer int) recordView {
	view := recordView{Where: whereJob(j), Answer: "A note about the job",
		Form: form{Upload: true, Submit: "Record the note", Fields: []field{{Kind: "area", Name: "text", Label: "Note"}, photoField("")}, More: commonFields()}}
	if s != nil {
		view.Where, view.Answer = whereSurface(j, s), "A note about surface "+s.Code
	}
	if layer > 0 {
		view.Answer = "A note about layer " + itoa(layer) + " of " + s.Code
	}
	return view
}

func getNote(v *visit) error {
	j, s, layer, err := v.noteOn()
	if err != nil {
		return err
	}
	return v.ask(noteView(j, s, layer))
}

func postNote(v *visit) error {
	j, s, layer, err := v.noteOn()
	if err != nil {
		return err
	}
	view := noteView(j, s, layer)
	r := v.read(&view.Form, "note")
	to := jobPath(j)
	if s != nil {
		at(r.edge, s, layer)
		to = surfacePath(j, s)
	}
	r.text("text")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, to)
}
