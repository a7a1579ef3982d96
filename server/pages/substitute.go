package pages

import (
	"encoding/json"
	"fmt"

	"tacet/acoustics"
	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/substitute", Roles: everybody, Get: getSubstitute, Post: postSubstitute, View: recordView{}})

// substituteView asks for another material in the place of a layer's own. What the two have in common is taken over from the
// layer; another kind of layer is a matter of the specification.
func substituteView(v *visit, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) (recordView, map[string]any, error) {
	from := l.Now
	var asked *jobs.Record
	var rs []*jobs.Record
	for _, r := range s.Work() {
		if r.Kind == "substitute" && r.On.Layer == l.N && j.InForce(r) {
			rs = append(rs, r)
		}
	}
	if asked = j.OpenSubstitute(s, l.N); asked != nil {
		from = *asked.What.(*jobs.Substitute).LayerNew
	}
	parts, err := partsOf(from)
	if err != nil {
		return recordView{}, nil, err
	}
	view := recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("Layer %d: instead of %s", l.N, jobs.Lower(l.SpecifiedName())),
		Form: form{Upload: true, Submit: "Record the substitution"}, BeforeTitle: "Recorded so far", Before: v.recordLines(j, rs, v.states(j))}
	if asked != nil {
		view.Lead, view.Asked = []string{"What it does, before it is answered:"}, effectPairs(j.EffectOf(s, l, asked))
	}
	answers := []option{{Value: "agreed", Label: "Agreed: it may be used"}, {Value: "refused", Label: "Refused: as specified"}}
	state := field{Kind: "choice", Name: "state", Label: "Where it stands", Options: []option{
		{Value: "asked", Label: "A question: may it be used?", Checked: true}, {Value: "already_fixed", Label: "It is fixed already"}}}
	f := &view.Form
	switch {
	case v.who.Role.Specifies() && asked != nil:
		// Nothing is chosen beforehand: a yes is somebody's own.
		state.Label, state.Options, f.Submit = "Your answer", answers, "Record the answer"
	case v.who.Role.Specifies():
		state.Options = append(state.Options, answers...)
	}
	f.Fields = append(f.Fields, state)
	if names := materialOptions(from); names != nil {
		f.Fields = append(f.Fields, field{Kind: "select", Name: "layer_new.material", Label: "Material", Options: names})
	}
	for _, p := range []struct{ key, label, unit string }{{"thickness_mm", "Thickness", "mm"}, {"depth_mm", "Depth", "mm"}, {"mass_kg_m2", "Mass", "kg/m²"}} {
		if value, ok := valueOf(from, parts, p.key); ok {
			x := field{Kind: "decimal", Name: "layer_new." + p.key, Label: p.label, Unit: p.unit, Value: value}
			if p.key == "mass_kg_m2" && f.field("layer_new.material") != nil {
				x.Hint = "Left as it is, another material brings its own, as the table has it."
			}
			f.Fields = append(f.Fields, x)
		}
	}
	f.Fields = append(f.Fields, field{Kind: "area", Name: "reason", Label: "Reason"}, photoField("The print on its edge, or its label."))
	f.More = commonFields()
	return view, parts, nil
}

// partsOf is a layer as its JSON object.
func partsOf(l acoustics.Layer) (map[string]any, error) {
	b, err := json.Marshal(l)
	if err != nil {
		return nil, err
	}
	parts := map[string]any{}
	return parts, json.Unmarshal(b, &parts)
}

// valueOf is a number of a layer as text. A mass that its material gives is shown too: it may differ in the substitute.
func valueOf(l acoustics.Layer, parts map[string]any, key string) (string, bool) {
	if v, ok := parts[key].(float64); ok {
		return decimal(v, 6), true
	}
	if key == "mass_kg_m2" && parts["thickness_mm"] != nil {
		return decimal(l.MassKgM2(), 2), true
	}
	return "", false
}

// materialOptions are the generic materials that a layer of this kind may be of; nil for kinds without.
func materialOptions(l acoustics.Layer) []option {
	now := ""
	switch e := l.Element.(type) {
	case acoustics.Board:
		now = e.Material
	case acoustics.Membrane:
		now = e.Material
	default:
		return nil
	}
	options := []option{{Value: "", Label: "Not one of these", Checked: now == ""}}
	for _, m := range acoustics.Materials() {
		for _, kind := range m.Kinds {
			if kind == l.Kind() {
				options = append(options, option{Value: m.ID, Label: m.Name, Checked: m.ID == now})
			}
		}
	}
	return options
}

func getSubstitute(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view, _, err := substituteView(v, j, s, l)
	if err != nil {
		return err
	}
	return v.ask(view)
}

func postSubstitute(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view, layer, err := substituteView(v, j, s, l)
	if err != nil {
		return err
	}
	shownMass := ""
	if mass := view.Form.field("layer_new.mass_kg_m2"); mass != nil {
		shownMass = mass.Value
	}
	r := v.read(&view.Form, "substitute")
	at(r.edge, s, l.N)
	r.text("state")
	for _, key := range []string{"thickness_mm", "depth_mm", "mass_kg_m2"} {
		if view.Form.field("layer_new."+key) == nil {
			continue
		}
		if n, ok := r.number("layer_new." + key); ok {
			layer[key] = n
		}
	}
	if x := view.Form.field("layer_new.material"); x != nil {
		was, _ := layer["material"].(string)
		delete(layer, "material")
		if m := v.c.FormValue("layer_new.material"); m != "" {
			layer["material"] = m
			// The mass that stood in the field is that of the material before.
			if m != was && v.c.FormValue("layer_new.mass_kg_m2") == shownMass {
				delete(layer, "mass_kg_m2")
			}
		}
	}
	r.edge["layer_new"] = layer
	r.text("reason")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, surfacePath(j, s))
}
