package pages

import (
	"maps"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "record", Path: "/jobs/:job/photo", Roles: everybody, Get: getPhotos, Post: postPhotos, View: recordView{}})
	_ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/photo", Roles: everybody, Get: getPhotos, Post: postPhotos, View: recordView{}})
)

// photosView records pictures of a place by themselves, where nothing else is recorded with them.
func photosView(j *jobs.Job, s *jobs.Surface) recordView {
	view := recordView{Where: whereJob(j), Answer: "Photos of the job", Form: form{Upload: true, Submit: "Record the photos", More: commonFields()}}
	if s != nil {
		view.Where, view.Answer = whereSurface(j, s), "Photos of "+s.Code
		layer := field{Kind: "select", Name: "layer", Label: "Of which layer", Options: []option{{Value: "", Label: "The surface as a whole"}}}
		for _, l := range s.Layers {
			layer.Options = append(layer.Options, option{Value: itoa(l.N), Label: itoa(l.N) + " " + jobs.Capital(l.Name())})
		}
		view.Form.Fields = append(view.Form.Fields, layer)
	}
	view.Form.Fields = append(view.Form.Fields, photoField("With the surface's code in the picture."), noteField())
	return view
}

func getPhotos(v *visit) error {
	on, err := v.spot()
	if err != nil {
		return err
	}
	return v.ask(photosView(on.j, on.s))
}

func postPhotos(v *visit) error {
	on, err := v.spot()
	if err != nil {
		return err
	}
	view := photosView(on.j, on.s)
	r := v.read(&view.Form, "photo")
	if on.s != nil {
		at(r.edge, on.s, 0)
	}
	if n, ok := r.number("layer"); ok {
		r.edge["layer"] = n
	}
	r.text("note")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	delete(r.edge, "photos") // each picture is a record of its own
	delete(r.edge, "taken")
	if len(r.f.Kept) == 0 && len(r.f.Errors) == 0 {
		r.f.complain("photos", "Choose a photo, JPEG or PNG.")
	}
	var more []map[string]any
	for i, h := range r.f.Kept {
		edge := r.edge
		if i > 0 {
			edge = maps.Clone(r.edge)
			delete(edge, "taken")
			more = append(more, edge)
		}
		edge["file"] = h
		if at := r.f.Taken[i]; at != "" {
			edge["taken"] = []string{at}
		}
	}
	return v.finish(view, r, on.j, on.path(), more...)
}
