package pages

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"tacet/jobs"
)

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
				if value == "none" {
					f.Options[0].Value = value // as it is recorded: nothing changes by looking at it
				}
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

// unchanged tells whether the draft has the layers as they are recorded.
func (b *sheet) unchanged() bool {
	d, err := b.layers(b.j, b.s, b.st)
	return err == nil && (draft{Layers: d.Layers}).text() == (draft{Layers: b.d.Layers}).text()
}

// tried is the job with the draft in it; nil where it does not hold together, and why.
func (b *sheet) tried() (*jobs.Job, string) {
	if len(b.d.Layers) == 0 || b.d.fresh() > 0 {
		return nil, ""
	}
	if b.unchanged() {
		return b.j, ""
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
			return nil, fmt.Sprintf("Layer %d, %s", n, jobs.Lower(inputSentence(labelOf(path), in)))
		}
		return nil, inputSentence(jobs.Capital(spaced(in.Field)), in)
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
	return jobs.Capital(spaced(path))
}

// fresh is the number of a layer of which nothing is written yet, 0 for none.
func (d draft) fresh() int {
	for i, l := range d.Layers {
		if len(l.Typed) == 0 {
			return i + 1
		}
	}
	return 0
}

// material is the id of the material that was chosen for a layer.
func (l draftLayer) material() string {
	var more struct{ Material string }
	if json.Unmarshal(l.Detail, &more) == nil && more.Material != "" {
		return more.Material
	}
	return l.Typed["material"]
}

// materials lists the firm's materials and the generic ones for a layer.
func (b *sheet) materials(l draftLayer) (field, error) {
	firm, err := b.v.firm()
	if err != nil {
		return field{}, err
	}
	f := field{Kind: "select", Name: "list_material", Label: "Material from the list", Hint: "Its values for the thickness written below."}
	chosen := l.material()
	for _, m := range firm.Materials() {
		for _, k := range m.Kinds {
			if k == l.Kind {
				label := m.Name
				if m.Version > 0 {
					label += fmt.Sprintf(" (the firm's, version %d)", m.Version)
				}
				f.Options = append(f.Options, option{Value: m.ID, Label: label, Checked: strings.EqualFold(m.ID, chosen)})
			}
		}
	}
	if len(f.Options) > 0 {
		f.Options = blank("None of these", f.Options)
	}
	return f, nil
}
