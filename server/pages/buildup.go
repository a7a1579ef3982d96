package pages

import (
	"encoding/json"
	"errors"
	"strconv"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
)

var (
	_ = register(Page{Name: "buildup", Path: "/jobs/:job/s/:surface/specify", Roles: everybody, Get: getBuildUp(specifying), Post: postBuildUp(specifying), View: buildUpView{}})
	_ = register(Page{Name: "buildup", Path: "/jobs/:job/s/:surface/existing", Roles: deciders, Get: getBuildUp(existingHere), Post: postBuildUp(existingHere), View: buildUpView{}})
	_ = register(Page{Name: "buildup", Path: "/jobs/:job/structures/:structure/existing", Roles: deciders, Get: getBuildUp(existingThere), Post: postBuildUp(existingThere), View: buildUpView{}})
	_ = register(Page{Path: "/jobs/:job/s/:surface/draft-:width.svg", Roles: everybody, Get: getDraftPicture})
)

// buildUpView is the sheet on which a layer list is written: what it comes to on top, then a line for each layer.
type buildUpView struct {
	frame
	Where     []crumb
	Answer    string
	Plain     []string // what has to be known with it
	Also      []string
	Picture   draftPicture
	Warnings  []warningLine
	Facts     []factLine
	Lines     []draftLine
	Form      form // the open layer's fields, and all complaints
	Add       field
	Start     field
	Like      field
	Reason    field
	Draft     string
	Submit    string
	Cautions  []cautionLine
	Questions string
	Existing  bool
}

// sheet is one request for a sheet.
type sheet struct {
	listing
	v  *visit
	j  *jobs.Job
	s  *jobs.Surface
	st *jobs.Structure
	d  draft
	f  form
}

func getBuildUp(l listing) func(*visit) error {
	return func(v *visit) error {
		j, s, st, err := l.subject(v)
		if err != nil {
			return err
		}
		b := sheet{listing: l, v: v, j: j, s: s, st: st}
		if b.d, err = l.layers(j, s, st); err != nil {
			return err
		}
		return b.show(200)
	}
}

func postBuildUp(l listing) func(*visit) error {
	return func(v *visit) error {
		j, s, st, err := l.subject(v)
		if err != nil {
			return err
		}
		b := sheet{listing: l, v: v, j: j, s: s, st: st}
		b.d, err = readDraft(v.c.FormValue("draft"))
		if err != nil {
			if b.d, err = l.layers(j, s, st); err != nil { // an empty or foreign form begins anew
				return err
			}
			b.f.complain("", "The list could not be read. It is shown as it is recorded.")
			return b.show(422)
		}
		b.d.take(func(name string) string { return v.c.FormValue(name) })
		act := v.c.FormValue("act")
		if act == "record" {
			return b.record()
		}
		if err := b.change(act); err != nil {
			return err
		}
		if len(b.f.Errors) > 0 {
			return b.show(422)
		}
		return b.show(200)
	}
}

// change does what one button asks of the draft.
func (b *sheet) change(act string) error {
	v := b.v
	switch act {
	case "add":
		kind := v.c.FormValue("add_kind")
		if _, ok := acoustics.LayerType(kind); ok && len(b.d.Layers) < 60 {
			b.d.Layers = append(b.d.Layers, draftLayer{Kind: kind})
			b.d.Open = len(b.d.Layers)
		}
	case "close":
		b.d.Open = 0
	case "start":
		return b.start(v.c.FormValue("build_up"))
	case "like":
		from := b.j.Surface(v.c.FormValue("like"))
		if from == nil || b.s == nil {
			return nil
		}
		d, err := draftOf(from.Specified, detailsOf(b.j, from))
		d.Like, d.BuildUp = from.Code, from.BuildUp()
		b.d = d
		return err
	case "list":
		return b.fromList(v.c.FormValue("list_material"))
	default:
		b.d.move(act)
	}
	return nil
}

// start begins with a starting build-up.
func (b *sheet) start(code string) error {
	up, ok := jobs.BuildUpByCode(code)
	if !ok || b.s == nil {
		return nil
	}
	layers, details, err := up.For(b.j, b.s)
	if err != nil {
		if !b.f.take(err) {
			return err
		}
		return nil
	}
	d, err := draftOf(layers, details)
	d.BuildUp = up.Code
	b.d = d
	return err
}

// fromList writes the values of a material of the list into the open layer.
func (b *sheet) fromList(id string) error {
	if b.d.Open == 0 {
		return nil
	}
	l := &b.d.Layers[b.d.Open-1]
	if id == "" {
		return l.forget()
	}
	firm, err := b.v.firm()
	if err != nil {
		return err
	}
	m, ok := firm.Material(id)
	thick, err := strconv.ParseFloat(l.Typed["thickness_mm"], 64)
	if !ok {
		return nil
	}
	if err != nil {
		b.f.complain("layer.thickness_mm", "Write the thickness first: the mass goes by it.")
		return nil
	}
	layer, err := m.Layer(l.Kind, thick)
	if err != nil {
		if !b.f.take(err) {
			return err
		}
		return nil
	}
	d, err := draftOf([]acoustics.Layer{layer}, nil)
	if err != nil {
		return err
	}
	detail := map[string]any{}
	if len(l.Detail) > 0 {
		if err := json.Unmarshal(l.Detail, &detail); err != nil {
			return err
		}
	}
	detail["material"], detail["generic"] = m.ID, m.Name
	if m.Version > 0 {
		detail["material_version"], detail["mass_source"] = m.Version, jobs.MassDataSheet
	}
	l.Typed = d.Layers[0].Typed
	l.Detail, err = json.Marshal(detail)
	return err
}

// forget leaves the values of a layer as they are and says no more of what material they are.
func (l *draftLayer) forget() error {
	delete(l.Typed, "material")
	if len(l.Detail) == 0 {
		return nil
	}
	var detail map[string]any
	if err := json.Unmarshal(l.Detail, &detail); err != nil {
		return err
	}
	if _, ok := detail["material"]; ok {
		for _, key := range []string{"material", "generic", "material_version", "mass_source"} {
			delete(detail, key)
		}
	}
	b, err := json.Marshal(detail)
	l.Detail = b
	return err
}

// edge is the record that the draft makes; what is no number is complained of.
func (b *sheet) edge() (map[string]any, error) {
	edge, err := b.base(b.s, b.st)
	if err != nil {
		return nil, err
	}
	layers, details := b.d.trees(func(layer int, path, says string) {
		if b.d.Open == layer {
			b.f.complain("layer."+path, says)
		} else {
			b.f.complain("", says)
		}
	})
	if layers == nil {
		layers = []any{}
	}
	edge[b.key] = layers
	if b.key != "specified" {
		return edge, nil
	}
	if len(details) > 0 {
		edge["details"] = details
	}
	for key, s := range map[string]string{"build_up": b.d.BuildUp, "like": b.d.Like, "reason": strings.TrimSpace(b.v.c.FormValue("reason"))} {
		if s != "" && (key != "reason" || edge["do"] == "respecify") {
			edge[key] = s
		}
	}
	return edge, nil
}

func (b *sheet) record() error {
	b.fields()
	edge, err := b.edge()
	if err != nil {
		return err
	}
	if len(b.f.Errors) > 0 {
		return b.show(422)
	}
	err = b.v.record(b.j.ID, edge)
	if err == nil {
		if b.s == nil {
			return b.v.see(jobPath(b.j) + "/office")
		}
		return b.v.see(surfacePath(b.j, b.s))
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		if n, path, ok := b.layerOf(in.Field); ok {
			b.d.Open = n
			b.fields()
			at := *in
			at.Field = "layer." + path
			err = &at
		}
	}
	if !b.f.take(err) {
		return err
	}
	return b.show(422)
}
