package pages

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
)

// draft is a layer list that is being written: it lives in its form and nowhere else until it is recorded. Values stay as
// they were typed, right or wrong, so that nothing is lost on the way.
type draft struct {
	Layers  []draftLayer `json:"layers"`
	Open    int          `json:"open,omitempty"` // the layer whose fields are shown, from 1
	BuildUp string       `json:"build_up,omitempty"`
	Like    string       `json:"like,omitempty"`
}

// draftLayer is one layer: its values by path, as typed, and what is specified of it beyond.
type draftLayer struct {
	Kind   string            `json:"kind"`
	Typed  map[string]string `json:"typed,omitempty"`
	Detail json.RawMessage   `json:"detail,omitempty"`
}

const mostDraft = 60 << 10

// readDraft reads a draft from its form or address.
func readDraft(s string) (draft, error) {
	var d draft
	if len(s) > mostDraft {
		return d, &jobs.InputError{Field: "draft", Value: itoa(len(s)), Range: "at most 61440", Unit: "bytes"}
	}
	if err := json.Unmarshal([]byte(s), &d); err != nil {
		return d, &jobs.InputError{Field: "draft", Value: "not readable", Hint: "open the page again"}
	}
	if d.Open < 0 || d.Open > len(d.Layers) {
		d.Open = 0
	}
	return d, nil
}

func (d draft) text() string {
	b, err := json.Marshal(d)
	if err != nil {
		return "{}" // texts and numbers always have a JSON form, and a detail came from JSON
	}
	return string(b)
}

// pack writes a draft small enough to stand in the address of its drawing; "" where it is too long for one.
func (d draft) pack() string {
	d.Open = 0
	var b bytes.Buffer
	for i := range d.Layers {
		d.Layers = slices.Clone(d.Layers)
		d.Layers[i].Detail = nil
	}
	w, err := flate.NewWriter(&b, flate.BestCompression)
	if err != nil {
		return ""
	}
	if _, err := io.WriteString(w, d.text()); err != nil || w.Close() != nil {
		return ""
	}
	if s := base64.RawURLEncoding.EncodeToString(b.Bytes()); len(s) <= 2000 {
		return s
	}
	return ""
}

func unpackDraft(s string) (draft, error) {
	b, err := base64.RawURLEncoding.DecodeString(s)
	if err != nil {
		return draft{}, jobs.ErrNotFound
	}
	text, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(b)), mostDraft))
	if err != nil {
		return draft{}, jobs.ErrNotFound
	}
	return readDraft(string(text))
}

// draftOf is a list as it stands, with its details by number.
func draftOf(layers []acoustics.Layer, details []jobs.ListDetail) (draft, error) {
	var d draft
	for i, l := range layers {
		tree, err := treeOf(l)
		if err != nil {
			return d, err
		}
		dl := draftLayer{Kind: l.Kind(), Typed: map[string]string{}}
		delete(tree, "kind")
		flatten(tree, "", dl.Typed)
		for _, more := range details {
			if more.Layer == i+1 {
				if dl.Detail, err = json.Marshal(more.DetailFacts); err != nil {
					return d, err
				}
			}
		}
		d.Layers = append(d.Layers, dl)
	}
	return d, nil
}

func flatten(tree map[string]any, path string, into map[string]string) {
	for k, v := range tree {
		at := k
		if path != "" {
			at = path + "." + k
		}
		if m, ok := v.(map[string]any); ok {
			flatten(m, at, into)
		} else if s := textOf(v); s != "" {
			into[at] = s
		}
	}
}

// trees are the layers and details of a draft as the record wants them; complain is told of what is no number.
func (d draft) trees(complain func(layer int, path, says string)) (layers, details []any) {
	for i, l := range d.Layers {
		tree := map[string]any{"kind": l.Kind}
		if l.Typed["frame.resilient"] != "" { // bars and clips need no frame
			treePut(tree, pathSteps("frame.kind"), "none")
		}
		for _, f := range layerFields(l.Kind) {
			s := strings.TrimSpace(l.Typed[f.Name])
			switch {
			case s == "":
			case f.Kind != "decimal" && f.Name != "frame.side":
				treePut(tree, pathSteps(f.Name), s)
			case plain.MatchString(s) && json.Valid([]byte(s)):
				treePut(tree, pathSteps(f.Name), json.Number(s))
			default:
				complain(i+1, f.Name, f.Label+" of layer "+itoa(i+1)+": write a number only, such as 12.6, with a point before decimals.")
			}
		}
		layers = append(layers, tree)
		if len(l.Detail) > 0 {
			var more map[string]any
			dec := json.NewDecoder(bytes.NewReader(l.Detail))
			dec.UseNumber()
			if dec.Decode(&more) == nil && len(more) > 0 {
				more["layer"] = i + 1
				details = append(details, more)
			}
		}
	}
	return layers, details
}

// move changes a draft as one button asks: up-3, down-3, remove-3, open-3.
func (d *draft) move(act string) bool {
	what, digits, _ := strings.Cut(act, "-")
	n, err := strconv.Atoi(digits)
	if err != nil || n < 1 || n > len(d.Layers) {
		return false
	}
	swap := func(a, b int) {
		if a < 1 || b > len(d.Layers) {
			return
		}
		d.Layers[a-1], d.Layers[b-1] = d.Layers[b-1], d.Layers[a-1]
		switch d.Open {
		case a:
			d.Open = b
		case b:
			d.Open = a
		}
	}
	switch what {
	case "up":
		swap(n-1, n)
	case "down":
		swap(n, n+1)
	case "open":
		d.Open = n
	case "remove":
		d.Layers = slices.Delete(d.Layers, n-1, n)
		switch {
		case d.Open == n:
			d.Open = 0
		case d.Open > n:
			d.Open--
		}
	default:
		return false
	}
	return true
}

// layerWords name what a layer is made of, by the last part of its path.
var layerWords = map[string]struct{ label, unit, hint string }{
	"thickness_mm":                   {"Thickness", "mm", ""},
	"mass_kg_m2":                     {"Mass", "kg/m²", ""},
	"depth_mm":                       {"Depth", "mm", ""},
	"youngs_modulus_gpa":             {"Young's modulus", "GPa", "Left empty: the default of the kind."},
	"poisson":                        {"Poisson's ratio", "", "Left empty: the default of the kind."},
	"loss_factor":                    {"Internal loss factor", "", "Left empty: the default of the kind."},
	"shear_modulus_mpa":              {"Shear modulus", "MPa", ""},
	"dynamic_stiffness_mn_m3":        {"Dynamic stiffness", "MN/m³", "From its data sheet."},
	"delta_lw_db":                    {"Improvement ΔLw", "dB", "From its data sheet."},
	"fill.thickness_mm":              {"Wool: thickness", "mm", "Left empty: no wool."},
	"fill.density_kg_m3":             {"Wool: density", "kg/m³", ""},
	"fill.flow_resistivity_kpa_s_m2": {"Wool: flow resistivity", "kPa·s/m²", "Left empty: estimated from the density."},
	"frame.kind":                     {"What stands in it", "", ""},
	"frame.spacing_mm":               {"Frame: centres", "mm", ""},
	"frame.mass_kg_m2":               {"Frame: mass", "kg/m²", ""},
	"frame.resilient":                {"Decoupled by", "", ""},
	"frame.side":                     {"Decoupled on side", "", "1 towards the structure, 2 away from it."},
	"existing":                       {"Which existing layer", "", "Counted as the existing structure is listed, from 1."},
}

// layerFields are the fields of a kind of layer, in the order of its type: whatever kind the program knows can be written.
func layerFields(kind string) []field {
	t, ok := acoustics.LayerType(kind)
	if !ok {
		return nil
	}
	return fieldsOf(t, "")
}

func fieldsOf(t reflect.Type, path string) []field {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	var fs []field
	for i := range t.NumField() {
		key, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if key == "" || key == "-" {
			continue
		}
		at, of := path+key, t.Field(i).Type
		for of.Kind() == reflect.Pointer {
			of = of.Elem()
		}
		if of.Kind() == reflect.Struct {
			fs = append(fs, fieldsOf(of, at+".")...)
			continue
		}
		w, ok := layerWords[at]
		if !ok {
			if w = layerWords[key]; w.label == "" {
				w.label = jobs.Capital(spaced(key))
			}
		}
		f := field{Kind: "decimal", Name: at, Label: w.label, Unit: w.unit, Hint: w.hint}
		switch at {
		case "frame.kind":
			f.Kind, f.Options = "select", blank("Nothing", nil)
			for _, k := range acoustics.FrameKinds() {
				if k == "none" { // the same as nothing, see fields
					continue
				}
				f.Options = append(f.Options, option{Value: k, Label: jobs.Capital(jobs.NameOfFrame(k))})
			}
		case "frame.resilient":
			f.Kind, f.Options = "select", []option{{Value: "", Label: "Nothing"}, {Value: "bar", Label: "Resilient bar"}, {Value: "clip", Label: "Resilient clip with channel"}}
		case "frame.side":
			f.Kind, f.Options = "select", []option{{Value: "", Label: "Not said"}, {Value: "1", Label: "1, towards the structure"}, {Value: "2", Label: "2, away from it"}}
		case "material":
			f.Kind = "hidden" // chosen from the list
		default:
			if of.Kind() == reflect.String {
				f.Kind = "text"
			}
		}
		fs = append(fs, f)
	}
	return fs
}

// layerKindNames are the kinds of layers as people say them.
var layerKindNames = map[string]string{"fill_existing": "Wool into an existing cavity", "remove_existing": "Take an existing layer away", "cavity": "Cavity, frame, wool",
	"resilient_mat": "Resilient mat", "soft_covering": "Soft covering", "loose_fill": "Loose fill", "timber_panel": "Timber panel or boards"}

func layerKindOptions(existing bool) []option {
	var os []option
	for _, k := range acoustics.LayerKinds() {
		if existing && (k == "fill_existing" || k == "remove_existing") {
			continue
		}
		name := layerKindNames[k]
		if name == "" {
			name = jobs.Capital(spaced(k))
		}
		os = append(os, option{Value: k, Label: name})
	}
	return os
}

// name says what a layer of a draft is, as far as it can be told.
func (l draftLayer) name() string {
	var layer acoustics.Layer
	trees, _ := draft{Layers: []draftLayer{l}}.trees(func(int, string, string) {})
	b, err := json.Marshal(trees[0])
	if err == nil && json.Unmarshal(b, &layer) == nil && layer.Element != nil {
		return layerName(layer)
	}
	if n := layerKindNames[l.Kind]; n != "" {
		return n
	}
	return jobs.Capital(spaced(l.Kind))
}

// take reads the open layer's fields back into the draft.
func (d *draft) take(value func(name string) string) {
	if d.Open == 0 {
		return
	}
	l := &d.Layers[d.Open-1]
	typed := map[string]string{}
	for _, f := range layerFields(l.Kind) {
		if s := value(fmt.Sprintf("layer.%s", f.Name)); s != "" {
			typed[f.Name] = s
		}
	}
	l.Typed = typed
}
