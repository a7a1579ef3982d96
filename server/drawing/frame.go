package drawing

import "math"

// frame draws what stands in a cavity: studs or joists cut across, and the springs that hold what is outward of them. Along the
// surface they stand at handy places, not to scale; through the thickness they keep their true depth.
func (p pen) frame(s Slab, r patch, dash []float64) {
	if s.Frame == NoFrame && s.Resilient == NoResilient {
		return
	}
	inner, outer := r.t0, r.t1
	spring := patch{}
	if s.Resilient != NoResilient {
		deep := math.Max(4, math.Min(14, 0.25*r.depth()))
		if s.Frame == NoFrame {
			deep = r.depth()
		}
		if s.FrameInward {
			spring = patch{t0: inner, t1: inner + deep}
			inner += deep
		} else {
			spring = patch{t0: outer - deep, t1: outer}
			outer -= deep
		}
	}
	n := int(math.Max(2, math.Round((r.s1-r.s0)/150)))
	for i := range n {
		at := r.s0 + (float64(i)+0.5)/float64(n)*(r.s1-r.s0)
		p.member(s.Frame, i, inner, outer, at, dash)
		if s.Resilient != NoResilient {
			p.spring(s.Resilient, s.FrameInward, spring, at)
		}
	}
}

// member is one stud or joist, cut across.
func (p pen) member(f Frame, i int, t0, t1, s float64, dash []float64) {
	deep := t1 - t0
	const half = 6.5
	timber := func(a, b float64) {
		p.area(RoleHatch, Paper, Ink, 1.1, dash, patch{a, b, s - half, s + half}.corners()...)
		p.stroke(RoleHatch, Line, hair, nil, stack{a, s - half}, stack{b, s + half})
		p.stroke(RoleHatch, Line, hair, nil, stack{a, s + half}, stack{b, s - half})
	}
	switch f {
	case TimberStud, Joist:
		timber(t0, t1)
	case StaggeredStud:
		if i%2 == 0 {
			timber(t0, t0+0.7*deep)
		} else {
			timber(t1-0.7*deep, t1)
		}
	case TwinFrame:
		timber(t0, t0+0.43*deep)
		timber(t1-0.43*deep, t1)
	case Independent:
		steel(p, t0+0.15*deep, t1, s, dash)
	case SteelStud:
		steel(p, t0, t1, s, dash)
	}
}

func steel(p pen, t0, t1, s float64, dash []float64) {
	const half = 6.5
	in := 0.9 // half the stroke, so that the section stays within the cavity
	p.area(RoleHatch, Paper, None, 0, nil, patch{t0 + in, t1 - in, s - half, s + half}.corners()...)
	p.stroke(RoleHatch, Ink, 1.8, dash, stack{t0 + in, s + half}, stack{t0 + in, s - half}, stack{t1 - in, s - half}, stack{t1 - in, s + half})
}

// spring is one resilient clip with its channel, or one resilient bar, from the frame's side to the carried side.
func (p pen) spring(kind Resilient, inward bool, r patch, s float64) {
	at := func(share, ds float64) stack {
		if inward {
			share = 1 - share
		}
		return stack{r.t0 + share*r.depth(), s + ds}
	}
	switch kind {
	case ResilientClip:
		p.area(RoleHatch, Ink, None, 0, nil, at(0, -4), at(0.45, -4), at(0.45, 4), at(0, 4))
		p.stroke(RoleHatch, Ink, 1.4, nil, at(0.96, -15), at(0.96, -9), at(0.45, -7), at(0.45, 7), at(0.96, 9), at(0.96, 15))
	case ResilientBar:
		p.stroke(RoleHatch, Ink, 1.6, nil, at(0.06, -11), at(0.06, 0), at(0.94, 6), at(0.94, 17))
	}
}
