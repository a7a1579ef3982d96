package jobs

import (
	_ "embed"
	"encoding/json"
	"slices"
	"strings"

	"tacet/acoustics"
)

// BuildUp is a starting point for a specification: generic layers from the structure outward, each with the details that
// make it a specification. The figures are common practice, no source; data sheets go before them.
type BuildUp struct {
	Code     string        `json:"code"`
	Name     string        `json:"name"`
	Use      string        `json:"use"`
	Surfaces []SurfaceKind `json:"surfaces"`
	Before   []string      `json:"before"` // what is done first
	Says     []string      `json:"says"`   // what has to be said with it
	Parts    []BuildUpPart `json:"parts"`
}

// BuildUpPart is one layer. Work on what exists names it by a word: face (the layer towards the room), cavity (the nearest
// one behind it), depth (of that cavity).
type BuildUpPart struct {
	Layer  json.RawMessage `json:"layer"`
	Detail *DetailFacts    `json:"detail,omitempty"`
}

//go:embed buildups.json
var buildUpsJSON []byte

var buildUps = readBuildUps(buildUpsJSON)

func readBuildUps(data []byte) []BuildUp {
	var list []BuildUp
	if err := json.Unmarshal(data, &list); err != nil {
		panic("buildups.json: " + err.Error()) // part of the program: every test finds it
	}
	slices.SortFunc(list, func(a, b BuildUp) int { return strings.Compare(a.Code, b.Code) })
	return list
}

// BuildUps lists the starting build-ups by code.
func BuildUps() []BuildUp { return slices.Clone(buildUps) }

// BuildUpByCode finds one.
func BuildUpByCode(code string) (BuildUp, bool) {
	for _, b := range buildUps {
		if strings.EqualFold(b.Code, code) {
			return b, true
		}
	}
	return BuildUp{}, false
}

// BuildUpsFor lists the starting build-ups for a kind of surface.
func BuildUpsFor(kind SurfaceKind) []BuildUp {
	return slices.DeleteFunc(BuildUps(), func(b BuildUp) bool { return !slices.Contains(b.Surfaces, kind) })
}

// For checks that the build-up belongs on the surface and returns its layers there, with their details.
func (b BuildUp) For(j *Job, s *Surface) ([]acoustics.Layer, []ListDetail, error) {
	if !slices.Contains(b.Surfaces, s.Kind) {
		kinds := make([]string, len(b.Surfaces))
		for i, k := range b.Surfaces {
			kinds[i] = words(string(k))
		}
		return nil, nil, &InputError{Field: "build_up", Value: b.Code, Hint: "it is for a " + strings.Join(kinds, " or ") + ", and " + s.Code + " is a " + words(string(s.Kind))}
	}
	layers := make([]acoustics.Layer, len(b.Parts))
	var details []ListDetail
	for i, p := range b.Parts {
		tree, err := parseTree(p.Layer)
		if err != nil {
			return nil, nil, err
		}
		if err := j.placeWork(s, b, tree.(map[string]any)); err != nil {
			return nil, nil, err
		}
		data, err := encode(tree)
		if err != nil {
			return nil, nil, err
		}
		if err := json.Unmarshal(data, &layers[i]); err != nil {
			return nil, nil, err
		}
		if p.Detail != nil {
			details = append(details, ListDetail{Layer: i + 1, DetailFacts: *p.Detail})
		}
	}
	return layers, details, nil
}

// placeWork puts the numbers of existing layers in place of the words.
func (j *Job) placeWork(s *Surface, b BuildUp, layer map[string]any) error {
	word, ok := layer["existing"].(string)
	if !ok {
		return nil
	}
	existing := j.existing(s)
	at, cavity := j.facing(s)
	missing := &InputError{Field: "build_up", Value: b.Code, Hint: "it works on the " + word + " of what exists: describe that first, with its " + word}
	if word == "cavity" {
		at = cavity
	}
	if at == 0 {
		return missing
	}
	layer["existing"] = json.Number(itoa(at))
	if fill, ok := layer["fill"].(map[string]any); ok {
		c := existing[at-1].Element.(acoustics.Cavity)
		if fill["thickness_mm"] == "depth" {
			fill["thickness_mm"] = json.Number(trim(c.Depth))
		}
	}
	return nil
}

// facing finds what exists towards the room of a surface: its face and the first cavity behind it, by number; 0 for none.
// A structure's layers go from side 1 to side 2, a surface's own outward from the structure.
func (j *Job) facing(s *Surface) (face, cavity int) {
	existing := j.existing(s)
	if len(existing) == 0 {
		return 0, 0
	}
	order := make([]int, len(existing))
	for i := range existing {
		order[i] = i + 1
	}
	if j.Structure(s.Structure) == nil || s.Side == 2 {
		slices.Reverse(order)
	}
	for _, n := range order {
		if _, ok := existing[n-1].Element.(acoustics.Cavity); ok {
			return order[0], n
		}
	}
	return order[0], 0
}

// Record returns what has to be recorded to specify a surface by the build-up: its layers with their details. A surface
// with a list is respecified, for the given reason.
func (b BuildUp) Record(j *Job, surface, reason string) (json.RawMessage, error) {
	s, err := j.find(surface)
	if err != nil {
		return nil, err
	}
	if _, _, err := b.For(j, s); err != nil {
		return nil, err
	}
	return specifyAs(s, map[string]any{"build_up": b.Code}, reason)
}
