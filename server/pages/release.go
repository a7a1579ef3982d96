package pages

import (
	"fmt"
	"strings"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/release", Roles: judges, Get: getRelease, Post: postRelease, View: recordView{}})

// releaseView opens a hold point by the supervisor's own word. Layer 0 is the surface as a whole.
func releaseView(v *visit, j *jobs.Job, s *jobs.Surface, layer int) recordView {
	view := recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("Release stop checks of layer %d?", layer), BeforeTitle: "What is recorded",
		Lead: []string{"A released check no longer keeps the layer from being covered. It stays open, and the record says that you released it."}}
	if layer == 0 {
		view.Answer = "Release stop checks of the whole surface?"
	}
	box := field{Kind: "box", Name: "checks", Label: "Stop checks"}
	var asked []*jobs.Check
	for _, c := range s.ChecksOf(layer) {
		if c.Rule.Stop && holds(c) {
			box.Options = append(box.Options, option{Value: c.Rule.Code, Label: c.Rule.Code + " " + c.Rule.Title, Hint: checkWords(j, c)})
			asked = append(asked, c)
		}
	}
	view.Form = form{Submit: "Release them", Hidden: seen("sees", asked), Fields: []field{box, {Kind: "area", Name: "note", Label: "Why", Needed: "Say why they are released."}}}
	if len(asked) == 0 {
		view.Lead, view.Form = []string{"No stop check is open here."}, form{}
	}
	if fire := strings.TrimSpace(fireWords(asked)); fire != "" {
		view.Lead = append(view.Lead, fire)
	}
	for _, c := range asked {
		view.Before = append(view.Before, v.recordLines(j, c.Heads, nil)...)
	}
	return view
}

// releaseOn is the job, the surface and the layer, 0 included.
func (v *visit) releaseOn() (*jobs.Job, *jobs.Surface, int, error) {
	if v.param("layer") == "0" {
		j, s, err := v.surface()
		return j, s, 0, err
	}
	j, s, l, err := v.layer()
	if err != nil {
		return nil, nil, 0, err
	}
	return j, s, l.N, nil
}

func getRelease(v *visit) error {
	j, s, layer, err := v.releaseOn()
	if err != nil {
		return err
	}
	return v.ask(releaseView(v, j, s, layer))
}

func postRelease(v *visit) error {
	j, s, layer, err := v.releaseOn()
	if err != nil {
		return err
	}
	view := releaseView(v, j, s, layer)
	r := v.read(&view.Form, "release")
	at(r.edge, s, layer)
	codes := formValues(v.c, "checks")
	if len(codes) == 0 {
		r.f.complain("checks", "Tick the checks that you release.")
	}
	r.edge["checks"] = codes
	if sees := formValues(v.c, "sees"); len(sees) > 0 {
		r.edge["sees"] = sees
	}
	r.text("note")
	return v.finish(view, r, j, surfacePath(j, s))
}
