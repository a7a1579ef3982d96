package jobs

import (
	"fmt"

	"tacet/acoustics"
)

// warnings says in plain words what is wrong or missing with a surface's specification and work. None of them stops
// anybody.
func (s *Surface) warnings(j *Job) []string {
	var ws []string
	warn := func(format string, args ...any) { ws = append(ws, fmt.Sprintf(format, args...)) }
	if len(s.Layers) == 0 {
		warn("nothing is specified yet")
	}
	if !s.Kind.Along() && s.membraneAlone() {
		warn("incomplete build-up: a membrane alone is no sound insulation of a %s; it needs a stiff layer on it", s.Kind)
	}
	ws = append(ws, s.specWarnings(j)...)
	for _, l := range s.Layers {
		if w, ok := s.ScrewWindow(l); ok && !w.Fits() {
			if w.MinMM > w.MaxMM {
				warn("layer %d: no screw can hold: it needs at least %s mm and may have at most %s mm", l.N, trim(w.MinMM), trim(w.MaxMM))
			} else {
				warn("layer %d: no stock screw fits the window %s to %s mm", l.N, trim(w.MinMM), trim(w.MaxMM))
			}
		}
	}
	if limit := s.ThicknessLimit; limit != nil && s.ThicknessMM() > *limit {
		warn("thickness %s mm is over the agreed limit of %s mm", trim(s.ThicknessMM()), trim(*limit))
	}
	if limit := s.LoadLimit; limit != nil && j.AddedLoad(s) > *limit {
		warn("added load %.2f kN/m² is over the agreed limit of %.2f kN/m²; a structural engineer decides", j.AddedLoad(s), *limit)
	}
	if st := j.Structure(s.Structure); st != nil && st.LoadLimit != nil && j.StructureLoad(st) > *st.LoadLimit {
		warn("added load on %s is %.2f kN/m², over the agreed limit of %.2f kN/m²; a structural engineer decides", st.Code, j.StructureLoad(st), *st.LoadLimit)
	}
	for _, l := range s.Layers {
		if l.CoveredUnseen {
			warn("layer %d was covered before its stop checks had passed", l.N)
		}
		if l.Covered > 0 && l.Share == 0 {
			warn("layer %d is covered but nobody recorded that it is in place", l.N)
		}
	}
	ws = append(ws, s.flankingWarnings()...)
	if n := s.olderWork(j); n > 0 {
		warn("made to an older specification and not counted for this one: %s", Count(n, "record"))
	}
	return ws
}

// membraneAlone tells whether a membrane is specified and neither a board nor a floor mat goes with it.
func (s *Surface) membraneAlone() bool {
	membrane := false
	for _, l := range s.Layers {
		switch l.Specified.Role() {
		case acoustics.RoleLimp:
			membrane = true
		case acoustics.RoleMass, acoustics.RoleResilient:
			return false
		}
	}
	return membrane
}

// olderWork counts the installs and checks that name another layer list and differ from the one in force.
func (s *Surface) olderWork(j *Job) int {
	n := 0
	for at, rs := range s.filed {
		if at.kind != "install" && at.kind != "check" {
			continue // a surface may have thousands of notes, and each entry on it asks this
		}
		for _, r := range rs {
			if (at.kind == "install" && !j.installCounts(r, s) || at.kind == "check" && !j.countsFor(r, s)) && j.InForce(r) {
				n++
			}
		}
	}
	return n
}
