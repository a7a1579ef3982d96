package jobs

import (
	"slices"

	"tacet/acoustics"
)

// What a layer does, in the trade's words. A layer may do several things.
const (
	RoleNameMass     = "mass"     // stops sound by its weight
	RoleNameDecouple = "decouple" // clip, bar, separate frame, mat, strip
	RoleNameAbsorb   = "absorb"   // wool in the cavity
	RoleNameDamp     = "damp"     // between stiff boards
	RoleNameSeal     = "seal"     // sealant, tape, putty
	RoleNameSupport  = "support"  // frame, noggin, deck
	RoleNameFire     = "fire"
	RoleNameMoisture = "moisture"
	RoleNameFinish   = "finish"
)

// RoleNames lists them in the order in which they are shown.
func RoleNames() []string {
	return []string{RoleNameMass, RoleNameDecouple, RoleNameAbsorb, RoleNameDamp, RoleNameSeal, RoleNameSupport, RoleNameFire, RoleNameMoisture, RoleNameFinish}
}

// Roles tells what a layer does: by its kind and its place, and by what is specified of it besides.
func (s *Surface) Roles(j *Job, l *Layer) []string {
	does := map[string]bool{}
	switch e := l.Now.Element.(type) {
	case FillExisting:
		does[RoleNameAbsorb] = true
	case RemoveExisting:
	case acoustics.Cavity:
		does[RoleNameAbsorb] = e.Fill != nil
		f := e.Frame
		bare := f == nil || f.Kind == "none" && f.Resilient == ""
		does[RoleNameSupport] = !bare
		does[RoleNameDecouple] = !bare && (f.Resilient != "" || f.Kind == "independent" || f.Kind == "twin_frame" || f.Kind == "staggered_stud") ||
			bare && s.nextIsFreeFrame(l)
	default:
		switch l.Now.Role() {
		case acoustics.RoleMass:
			does[RoleNameMass] = true
			does[RoleNameSupport] = isFloor(s)
		case acoustics.RoleLimp:
			does[RoleNameMass] = true
			does[RoleNameDamp] = s.isMassAt(l.N-1) && s.isMassAt(l.N+1)
		case acoustics.RoleResilient:
			does[RoleNameMass], does[RoleNameDecouple] = true, true
		case acoustics.RoleLoose:
			does[RoleNameMass] = true
		case acoustics.RoleCovering:
			does[RoleNameFinish] = true
		}
	}
	if d := s.Detail(j, l.N); d != nil {
		for _, r := range d.Roles {
			does[r] = true
		}
		for _, c := range append(slices.Clone(d.Required), d.Given...) {
			does[c.For] = true
		}
		if d.Edge != nil && d.Edge.Seal != "none" {
			does[RoleNameSeal] = true
		}
	}
	return slices.DeleteFunc(RoleNames(), func(r string) bool { return !does[r] })
}

func (s *Surface) isMassAt(n int) bool {
	l := s.Layer(n)
	return l != nil && l.Now.Role() == acoustics.RoleMass
}

// nextIsFreeFrame tells whether an empty gap keeps a stud frame clear of what stands behind it.
func (s *Surface) nextIsFreeFrame(l *Layer) bool {
	next := s.Layer(l.N + 1)
	return next != nil && frameOf(next) != nil
}

// doing tells whether some layer of the surface does it.
func (s *Surface) doing(j *Job, role string) bool {
	return slices.ContainsFunc(s.Layers, func(l *Layer) bool { return slices.Contains(s.Roles(j, l), role) })
}
