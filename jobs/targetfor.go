package jobs

import "strings"

// The elements that a target may be for, where a rule asks for different values of walls and of floors.
const (
	ElementWall  = "wall"
	ElementFloor = "floor" // floors with the ceilings and soffits under them
)

// element is what a surface separates: walls part rooms side by side, the rest rooms above each other; none for what only encloses.
func (s *Surface) element() string {
	switch {
	case s.Kind == Wall:
		return ElementWall
	case s.Kind == Floor || s.Kind.Overhead():
		return ElementFloor
	}
	return ""
}

// suits tells how closely a target belongs to a surface: one for this very surface before one for its room, that before one for walls or
// floors, that before one for the whole job; below 0 it belongs to others.
func (t Target) suits(s *Surface) int {
	closely := 0
	for _, want := range []struct {
		of, is string
		close  int
	}{{t.Surface, s.Code, 4}, {t.Room, s.Room, 2}, {t.Element, s.element(), 1}} {
		switch {
		case want.of == "":
		case strings.EqualFold(want.of, want.is):
			closely += want.close
		default:
			return -1
		}
	}
	return closely
}

// TargetsFor lists what a surface has to reach: of each quantity the targets that belong to it most closely.
func (j *Job) TargetsFor(s *Surface) []Target {
	closest := map[string]int{}
	for _, t := range j.Targets {
		if n := t.suits(s); n >= 0 {
			closest[t.Quantity] = max(closest[t.Quantity], n)
		}
	}
	var out []Target
	for _, t := range j.Targets {
		if n := t.suits(s); n >= 0 && n == closest[t.Quantity] {
			out = append(out, t)
		}
	}
	return out
}

// airborneTarget is the target for airborne sound that a surface is judged by: of those that belong to it most closely the first.
func (j *Job) airborneTarget(s *Surface) *Target {
	var best *Target
	for i := range j.Targets {
		t := &j.Targets[i]
		if !t.Impact() && t.suits(s) >= 0 && (best == nil || t.suits(s) > best.suits(s)) {
			best = t
		}
	}
	return best
}

// LimitOf is the target that a test of these surfaces is judged by; where it names none, one for the whole job.
func (j *Job) LimitOf(quantity string, surfaces []string) *Target {
	var best *Target
	closely := -1
	try := func(s *Surface) {
		for i := range j.Targets {
			if t := &j.Targets[i]; t.Quantity == quantity && t.suits(s) > closely {
				best, closely = t, t.suits(s)
			}
		}
	}
	for _, c := range surfaces {
		if s := j.Surface(c); s != nil {
			try(s)
		}
	}
	if len(surfaces) == 0 {
		try(&Surface{})
	}
	return best
}
