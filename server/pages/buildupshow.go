package pages

import (
	"slices"
	"strconv"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
)

// draftPicture is where the section of a draft is drawn.
type draftPicture struct{ Base, Query, Alt string }

// draftLine is one layer of a draft.
type draftLine struct {
	N                            int
	What, Mass, Thickness, Screw string
	Detailed, Open, First, Last  bool
	Fields                       []field
	Materials                    field
	Usual                        []field // what most leave to the default of the kind or to the list of materials
	Wrong                        bool    // one of them is complained of
}

// warningLine is a warning, with where to do something about it.
type warningLine struct {
	Says string
	To   step // empty where nothing is written elsewhere
}

// usual are the values that a kind of layer, or its material, brings along.
var usual = []string{"layer.youngs_modulus_gpa", "layer.poisson", "layer.loss_factor", "layer.shear_modulus_mpa"}

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
				line.What = jobs.Capital(layer.SpecifiedName())
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
				if slices.Contains(usual, f.Name) {
					line.Usual = append(line.Usual, f)
					line.Wrong = line.Wrong || f.Error != ""
				} else if strings.HasPrefix(f.Name, "layer.") {
					line.Fields = append(line.Fields, f)
				}
			}
			var err error
			if line.Materials, err = b.materials(l); err != nil {
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

// sums says what the draft comes to: the prediction, mass, thickness and load, and what is wrong with it.
func (b *sheet) sums(view *buildUpView, t *jobs.Job, why string) {
	what := "from the structure outward"
	if b.st != nil {
		what = "from side 1 to side 2"
	}
	switch {
	case b.key == "existing" && b.st != nil:
		view.Answer = "What exists: " + b.st.Called() + ", " + what
	case b.key == "existing":
		view.Answer = "What exists behind " + b.s.Code
	case len(b.d.Layers) == 0:
		view.Answer = "Nothing is specified for " + b.s.Code + " yet."
	default:
		view.Answer = "The layers of " + b.s.Code + " can't be worked out yet."
	}
	if why != "" {
		view.Warnings = append(view.Warnings, warningLine{Says: why})
	}
	if n := b.d.fresh(); n > 0 && len(view.Form.Errors)+len(b.f.Errors) == 0 {
		view.Plain = append(view.Plain, "Nothing is written of layer "+itoa(n)+" yet.")
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
	as := "As written here"
	if b.unchanged() {
		as = "As specified"
	}
	view.Answer, view.Plain = forecastSentence(as, p), plainOf(p, t.TargetsFor(s))
	for _, w := range s.Warnings {
		line := warningLine{Says: sentence(w)}
		if w == jobs.NoEdgeSealed {
			if b.s.List == nil {
				line.Says += " It is written with the details of a layer, once the list is recorded."
			} else if n := lastBoard(b.s); n > 0 {
				line.To = step{"Specify it in detail", layerPath(b.j, b.s, n, "detail")}
			}
		}
		view.Warnings = append(view.Warnings, line)
	}
	view.Also = newNotes(p.Notes, saidAbove())
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

// lastBoard is the number of the outermost board of the recorded list: its edge is what the room sees. 0 for none.
func lastBoard(s *jobs.Surface) int {
	n := 0
	for _, l := range s.Layers {
		if l.Now.Role() == acoustics.RoleMass {
			n = l.N
		}
	}
	return n
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
	return v.drawn(true, func() picturer { return Section(t, t.Surface(s.Code)) })
}
