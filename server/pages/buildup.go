package pages

import (
	"encoding/json"
	"errors"
	"fmt"
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
	Also      []string
	Picture   draftPicture
	Warnings  []string
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

// draftPicture is where the section of a draft is drawn.
type draftPicture struct{ Base, Query, Alt string }

// draftLine is one layer of a draft.
type draftLine struct {
	N                            int
	What, Mass, Thickness, Screw string
	Detailed, Open, First, Last  bool
	Fields                       []field
	Materials                    field
}

// listing is what a sheet writes: the layers of a specification, or those that exist.
type listing struct {
	key string // of the layers in the record
	// subject finds what the list belongs to; base is what else the record has to say of it.
	subject func(v *visit) (j *jobs.Job, s *jobs.Surface, st *jobs.Structure, err error)
	layers  func(j *jobs.Job, s *jobs.Surface, st *jobs.Structure) (draft, error)
	base    func(s *jobs.Surface, st *jobs.Structure) (map[string]any, error)
}

func onSurface(v *visit) (*jobs.Job, *jobs.Surface, *jobs.Structure, error) {
	j, s, err := v.surface()
	return j, s, nil, err
}

var specifying = listing{key: "specified", subject: onSurface,
	layers: func(j *jobs.Job, s *jobs.Surface, _ *jobs.Structure) (draft, error) {
		d, err := draftOf(s.Specified, detailsOf(j, s))
		d.BuildUp = s.BuildUp()
		return d, err
	},
	base: func(s *jobs.Surface, _ *jobs.Structure) (map[string]any, error) {
		edge := map[string]any{"do": "specify", "surface": s.Code}
		if s.List != nil {
			edge["do"] = "respecify"
		}
		return edge, nil
	}}

var existingHere = listing{key: "existing", subject: onSurface,
	layers: func(_ *jobs.Job, s *jobs.Surface, _ *jobs.Structure) (draft, error) { return draftOf(s.Existing, nil) },
	base: func(s *jobs.Surface, _ *jobs.Structure) (map[string]any, error) {
		edge, err := treeOf(s.SurfaceFacts)
		if err == nil {
			edge["do"] = "surface"
		}
		return edge, err
	}}

var existingThere = listing{key: "existing", subject: func(v *visit) (*jobs.Job, *jobs.Surface, *jobs.Structure, error) {
	j, err := v.job()
	if err != nil {
		return nil, nil, nil, err
	}
	st := j.Structure(v.param("structure"))
	if st == nil {
		return nil, nil, nil, jobs.ErrNotFound
	}
	return j, nil, st, nil
},
	layers: func(_ *jobs.Job, _ *jobs.Surface, st *jobs.Structure) (draft, error) {
		return draftOf(st.Existing, nil)
	},
	base: func(_ *jobs.Surface, st *jobs.Structure) (map[string]any, error) {
		edge, err := treeOf(structureFacts(st))
		if err == nil {
			edge["do"] = "structure"
		}
		return edge, err
	}}

// detailsOf gathers what is specified of the layers beyond the list.
func detailsOf(j *jobs.Job, s *jobs.Surface) []jobs.ListDetail {
	var ds []jobs.ListDetail
	for _, l := range s.Layers {
		if d := s.Detail(j, l.N); d != nil {
			ds = append(ds, jobs.ListDetail{Layer: l.N, DetailFacts: *d})
		}
	}
	return ds
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
	if b.d.Open == 0 || id == "" {
		return nil
	}
	l := &b.d.Layers[b.d.Open-1]
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

// layerOf tells which layer and which of its fields a complaint is about.
func (b *sheet) layerOf(field string) (n int, path string, ok bool) {
	_, rest, ok := strings.Cut(field, b.key+"[")
	digits, path, cut := strings.Cut(rest, "]")
	n, err := strconv.Atoi(digits)
	if !ok || !cut || err != nil || n >= len(b.d.Layers) {
		return 0, "", false
	}
	return n + 1, strings.TrimPrefix(path, "."), true
}

// fields makes the fields of the open layer.
func (b *sheet) fields() {
	b.f.Fields = nil
	if b.d.Open > 0 {
		l := b.d.Layers[b.d.Open-1]
		for _, f := range layerFields(l.Kind) {
			value := l.Typed[f.Name]
			f.Name = "layer." + f.Name
			if f.Kind == "select" {
				f.choose(value)
			} else {
				f.Value = value
			}
			b.f.Fields = append(b.f.Fields, f)
		}
	}
	if b.key == "specified" && b.s.List != nil {
		b.f.Fields = append(b.f.Fields, field{Kind: "area", Name: "reason", Label: "Reason for the change", Value: b.v.c.FormValue("reason"),
			Hint: "What was recorded to the old list stays readable."})
	}
}

// tried is the job with the draft in it; nil where it does not hold together, and why.
func (b *sheet) tried() (*jobs.Job, string) {
	if len(b.d.Layers) == 0 {
		return nil, ""
	}
	said := len(b.f.Errors)
	edge, err := b.edge()
	if err != nil {
		return nil, ""
	}
	typed := b.f.Errors[said:]
	b.f.Errors = b.f.Errors[:said]
	if len(typed) > 0 {
		return nil, typed[0].Says
	}
	if edge["do"] == "respecify" && edge["reason"] == nil {
		edge["reason"] = "tried out"
	}
	raw, err := json.Marshal(edge)
	if err != nil {
		return nil, ""
	}
	t, err := b.j.Trial(b.v.who.Author(), raw)
	if err == nil {
		return t, ""
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		if n, path, ok := b.layerOf(in.Field); ok {
			return nil, fmt.Sprintf("Layer %d, %s", n, lower(inputSentence(labelOf(path), in)))
		}
		return nil, inputSentence(capital(spaced(in.Field)), in)
	}
	var rule *jobs.RuleError
	if errors.As(err, &rule) {
		return nil, sentence(rule.Says)
	}
	return nil, "This list can't be worked out."
}

func labelOf(path string) string {
	if w := layerWords[path]; w.label != "" {
		return w.label
	}
	return capital(spaced(path))
}

func (b *sheet) show(status int) error {
	errs := b.f.Errors
	if b.f.Fields == nil {
		b.fields()
	}
	for i, e := range errs {
		if e.Field == b.f.ID() {
			errs[i].Field = "list"
		}
	}
	v := b.v
	view := buildUpView{Draft: b.d.text(), Existing: b.key == "existing", Submit: "Record what exists",
		Add: field{Kind: "select", Name: "add_kind", Label: "Add a layer", Options: layerKindOptions(b.key == "existing")}}
	if b.s != nil {
		view.Where = whereSurface(b.j, b.s)
	} else {
		view.Where = append(whereJob(b.j), crumb{"Office", jobPath(b.j) + "/office"})
	}
	if b.key == "specified" {
		view.Submit = "Specify " + b.s.Code
		if b.s.List != nil {
			view.Submit = "Respecify " + b.s.Code
		}
		view.Start = field{Kind: "select", Name: "build_up", Label: "Start from a build-up", Options: blank("None", nil)}
		for _, up := range jobs.BuildUpsFor(b.s.Kind) {
			view.Start.Options = append(view.Start.Options, option{Value: up.Code, Label: up.Code + " " + up.Name, Checked: up.Code == b.d.BuildUp})
		}
		view.Like = field{Kind: "select", Name: "like", Label: "Copy from a surface like it", Options: blank("None", nil)}
		for _, o := range b.j.Surfaces {
			if o != b.s && len(o.Specified) > 0 {
				view.Like.Options = append(view.Like.Options, option{Value: o.Code, Label: o.Code + " " + surfaceName(b.j, o), Checked: o.Code == b.d.Like})
			}
		}
	}
	t, why := b.tried()
	if err := b.lines(&view, t); err != nil {
		return err
	}
	b.sums(&view, t, why)
	view.Form = b.f
	view.Form.Errors = errs
	view.frame = v.frame(toCorrect(view.Answer, view.Form))
	v.c.Status(status)
	return v.show("buildup", view)
}

// lines writes a line for each layer, the open one with its fields.
func (b *sheet) lines(view *buildUpView, t *jobs.Job) error {
	for i, l := range b.d.Layers {
		n := i + 1
		line := draftLine{N: n, What: l.name(), Open: b.d.Open == n, First: i == 0, Last: n == len(b.d.Layers), Detailed: len(l.Detail) > 2}
		if m, err := strconv.ParseFloat(l.Typed["mass_kg_m2"], 64); err == nil {
			line.Mass = massOf(m)
		}
		if t != nil && b.key == "specified" {
			if s := t.Surface(b.s.Code); s.Layer(n) != nil {
				layer := s.Layer(n)
				line.Mass = massOf(layer.Specified.MassKgM2())
				if mm := layer.Specified.ThicknessMM(); mm > 0 {
					line.Thickness = thicknessOf(mm)
				}
				if w, ok := s.ScrewWindow(layer); ok {
					line.Screw = screwSentence(w) + " The window is " + decimal(w.MinMM, 1) + " to " + thicknessOf(w.MaxMM) + "."
				}
			}
		}
		if line.Open {
			for _, f := range b.f.Fields {
				if strings.HasPrefix(f.Name, "layer.") {
					line.Fields = append(line.Fields, f)
				}
			}
			var err error
			if line.Materials, err = b.materials(l.Kind); err != nil {
				return err
			}
		}
		view.Lines = append(view.Lines, line)
	}
	for _, f := range b.f.Fields {
		if f.Name == "reason" {
			view.Reason = f
		}
	}
	return nil
}

// materials lists the firm's materials and the generic ones for a kind of layer.
func (b *sheet) materials(kind string) (field, error) {
	firm, err := b.v.firm()
	if err != nil {
		return field{}, err
	}
	f := field{Kind: "select", Name: "list_material", Label: "Material from the list", Hint: "Its values for the thickness written below."}
	for _, m := range firm.Materials() {
		for _, k := range m.Kinds {
			if k == kind {
				label := m.Name
				if m.Version > 0 {
					label += fmt.Sprintf(" (the firm's, version %d)", m.Version)
				}
				f.Options = append(f.Options, option{Value: m.ID, Label: label})
			}
		}
	}
	if len(f.Options) > 0 {
		f.Options = blank("None", f.Options)
	}
	return f, nil
}

// sums says what the draft comes to: the prediction, mass, thickness and load, and what is wrong with it.
func (b *sheet) sums(view *buildUpView, t *jobs.Job, why string) {
	what := "from the structure outward"
	if b.st != nil {
		what = "from side 1 to side 2"
	}
	switch {
	case b.key == "existing" && b.st != nil:
		view.Answer = "What exists: " + strings.TrimSpace(b.st.Code+" "+b.st.Name) + ", " + what
	case b.key == "existing":
		view.Answer = "What exists behind " + b.s.Code
	case len(b.d.Layers) == 0:
		view.Answer = "Nothing is specified for " + b.s.Code + " yet."
	default:
		view.Answer = "The layers of " + b.s.Code + " can't be worked out yet."
	}
	if why != "" {
		view.Warnings = append(view.Warnings, why)
	}
	if t == nil {
		return
	}
	if b.key == "existing" {
		if b.s != nil {
			b.draw(view, t, t.Surface(b.s.Code))
		}
		return
	}
	s := t.Surface(b.s.Code)
	p := t.PredictSurface(s).Specified
	view.Answer = forecastSentence("As written here", p) + impactSentence(p, t.TargetsFor(s))
	for _, w := range s.Warnings {
		view.Warnings = append(view.Warnings, sentence(w))
	}
	view.Also = newNotes(p.Notes, map[string]bool{})
	if up, ok := jobs.BuildUpByCode(b.d.BuildUp); ok {
		for _, says := range append(append([]string{}, up.Before...), up.Says...) {
			view.Also = append(view.Also, sentence(says))
		}
	}
	var mm float64
	for _, l := range s.Layers {
		mm += l.Specified.ThicknessMM()
	}
	view.Facts = []factLine{{Name: "Mass", Specified: massOf(s.SpecifiedMass())}, {Name: "Thickness", Specified: thicknessOf(mm), Limit: limitOf(s.ThicknessLimit, thicknessOf)},
		{Name: "Added load", Specified: loadOf(t.AddedLoad(s)), Limit: limitOf(s.LoadLimit, loadOf)}}
	if st := t.Structure(s.Structure); st != nil {
		view.Facts = append(view.Facts, factLine{Name: "Load on " + st.Code + ", all surfaces", Specified: loadOf(t.StructureLoad(st)), Limit: limitOf(st.LoadLimit, loadOf)})
	}
	view.Cautions = openLines(t, s)
	b.draw(view, t, s)
}

func (b *sheet) draw(view *buildUpView, t *jobs.Job, s *jobs.Surface) {
	if packed := b.d.pack(); packed != "" {
		d := Section(t, s)
		view.Picture = draftPicture{Base: surfacePath(b.j, b.s), Query: b.key + "." + packed, Alt: d.TitleWords() + " " + d.DescWords()}
	}
}

// openLines are the questions of a surface that nobody has answered.
func openLines(j *jobs.Job, s *jobs.Surface) []cautionLine {
	var open []cautionLine
	for _, l := range cautionLines(j, s) {
		if l.Open {
			open = append(open, l)
		}
	}
	return open
}

// getDraftPicture draws the section of a draft, which its address holds: nothing is kept.
func getDraftPicture(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	width, err := strconv.Atoi(v.param("width"))
	if err != nil || width < 200 || width > 2000 {
		return jobs.ErrNotFound
	}
	key, packed, _ := strings.Cut(v.c.Query("d"), ".")
	d, err := unpackDraft(packed)
	if err != nil {
		return err
	}
	l := specifying
	if key == "existing" {
		l = existingHere
	}
	b := sheet{listing: l, v: v, j: j, s: s, d: d}
	t, _ := b.tried()
	if t == nil {
		return jobs.ErrNotFound
	}
	return v.svg(Section(t, t.Surface(s.Code)).SVG(width))
}
