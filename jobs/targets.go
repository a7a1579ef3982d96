package jobs

import (
	_ "embed"
	"encoding/json"
	"slices"
	"strings"
)

// TargetSet is what a country's rules, or an agreement, ask of one kind of job. The figures are starting points with their
// source and how sure they are; the document in force goes before them.
type TargetSet struct {
	ID      string      `json:"id"`
	Country string      `json:"country"`
	Use     string      `json:"use"`
	Dated   string      `json:"dated"` // of the source
	Source  string      `json:"source"`
	Sure    string      `json:"sure"` // how the figures were read
	Note    string      `json:"note"`
	Figures []TargetFor `json:"targets"`
	Own     bool        `json:"own"` // recorded by the firm
}

// TargetFor is one figure: of walls, or of floors and ceilings.
type TargetFor struct {
	Element  string  `json:"element"`
	Quantity string  `json:"quantity"`
	ValueDB  float64 `json:"value_db"`
}

//go:embed targets.json
var targetsJSON []byte

var targetSets = readTargets(targetsJSON)

func readTargets(data []byte) []TargetSet {
	var list []TargetSet
	if err := json.Unmarshal(data, &list); err != nil {
		panic("targets.json: " + err.Error()) // part of the program: every test finds it
	}
	return list
}

// TargetSets lists what the program knows of targets, without those of a firm: see [Firm.TargetSets].
func TargetSets() []TargetSet { return slices.Clone(targetSets) }

// Says is the source of a target as it goes into a job: document, date and how sure.
func (t TargetSet) Says() string {
	parts := []string{t.Source}
	for _, p := range []string{t.Dated, t.Country, t.Use, t.Sure} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return strings.Join(parts, "; ")
}

// Targets are the figures as targets of a job, each once, with their source. A wall and a floor that need different values of one quantity
// give two, each for its own.
func (t TargetSet) Targets() []Target {
	var out []Target
	for _, f := range t.Figures {
		same, other := false, false
		for _, o := range t.Figures {
			same = same || o.Quantity == f.Quantity && o.Element != f.Element && o.ValueDB == f.ValueDB
			other = other || o.Quantity == f.Quantity && o.ValueDB != f.ValueDB
		}
		n := Target{Quantity: f.Quantity, ValueDB: f.ValueDB, Source: t.Says()}
		if other && !same && (f.Element == ElementWall || f.Element == ElementFloor) {
			n.Element = f.Element
		}
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}
