package jobs

import (
	"fmt"
	"math"
	"reflect"
	"slices"

	"tacet/acoustics"
)

// NoEdgeSealed is what a specification says of itself that seals no edge: a page leads to where it is written.
const NoEdgeSealed = "no layer says how its edge is sealed: an open edge undoes the build-up"

// specWarnings says what a specification leaves out: decoupling, seals, classes that somebody asked for, equals that are
// none.
func (s *Surface) specWarnings(j *Job) []string {
	var ws []string
	if s.isLining() {
		if !s.doing(j, RoleNameDecouple) {
			ws = append(ws, "no layer decouples: mass alone on what exists gains little, say so to the client")
		}
		if !s.doing(j, RoleNameSeal) {
			ws = append(ws, NoEdgeSealed)
		}
	}
	for _, l := range s.Layers {
		d := s.Detail(j, l.N)
		if d == nil {
			continue
		}
		for _, c := range d.Required {
			has := slices.ContainsFunc(d.Given, func(g Class) bool { return g.For == c.For })
			if !has {
				ws = append(ws, fmt.Sprintf("layer %d needs %s for %s%s, and no class is given", l.N, c.What, c.For, askedBy(c)))
			}
		}
		for _, e := range d.Equals {
			ws = append(ws, unequal(l, e)...)
		}
	}
	return ws
}

func askedBy(c Class) string {
	if c.By == "" {
		return ""
	}
	return " (asked for by " + c.By + ")"
}

// isLining tells whether boards are added to a wall, ceiling, soffit or floor.
func (s *Surface) isLining() bool {
	return isPlanar(s) && slices.ContainsFunc(s.Layers, func(l *Layer) bool { return l.Now.Role() == acoustics.RoleMass })
}

// unequal says in what a permitted equal differs from what it may replace: equal mass alone is not equal.
func unequal(l *Layer, e Permitted) []string {
	var ws []string
	name := NameOf(e.Layer)
	if e.Layer.Role() != l.Specified.Role() {
		ws = append(ws, fmt.Sprintf("layer %d: the permitted equal %s does something else than %s", l.N, name, l.SpecifiedName()))
	}
	if m := l.Specified.MassKgM2(); m > 0 && e.Layer.MassKgM2() < m-1e-9 {
		ws = append(ws, fmt.Sprintf("layer %d: the permitted equal %s is lighter by %s kg/m² (%s)", l.N, name, trim(round(m-e.Layer.MassKgM2())), percent(math.Round(100*(1-e.Layer.MassKgM2()/m))/100)))
	}
	return ws
}

// sameLayer tells whether two layers are the same in everything that is recorded of them.
func sameLayer(a, b acoustics.Layer) bool { return reflect.DeepEqual(a, b) }
