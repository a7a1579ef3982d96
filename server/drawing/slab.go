package drawing

import "math"

// How states are outlined.
var (
	dashed  = []float64{5, 3}
	missing = []float64{1.5, 3}
)

// Measures at the far end of a slab, in drawing units along the surface.
const (
	openGap    = 8.0 // an unsealed edge falls short by this
	bracketLow = 3.0 // a covered layer's bracket, from the slab's end
	bracketOut = 9.0
	endStrip   = 14.0 // room that the layout keeps beyond the slabs' ends
)

// up tells whether the layer is on the surface, so that it is outlined with a solid line.
func up(s Slab) bool { return s.State != Specified && s.State != Delivered }

// open tells whether the slab's far edge is drawn open: something about it is not in order.
func open(s Slab) bool { return s.State == ToPutRight || s.State == Disputed }

func has(s Slab, kind DefectKind) bool {
	for _, d := range s.Defects {
		if d.Kind == kind {
			return true
		}
	}
	return false
}

// draw puts one slab down: material, outline, then what its state and its defects add.
func (p pen) draw(b band) {
	s, long := b.slab, p.place.length()
	r := patch{b.from, b.to, 0, long}
	gap := has(s, OpenEdge)
	if gap {
		r.s1 -= openGap
		if p.place.closed() {
			r.s0 += openGap / 2
			r.s1 += openGap / 2
		}
	}
	cut := r.s1
	switch {
	case b.removed, s.State == Specified:
		cut = r.s0
	case s.State == PartInstalled:
		cut = r.s0 + share(s.Share)*(r.s1-r.s0)
	}
	dash := []float64(nil)
	if !up(s) || b.removed {
		dash = dashed
	}
	if cut > r.s0 {
		p.material(s, patch{r.t0, r.t1, r.s0, cut}, dash)
	} else if s.Frame != NoFrame || s.Resilient != NoResilient {
		p.frame(s, r, dash)
	}
	p.outline(s, r, cut, dash, gap)
	if b.removed {
		p.stroke(RoleMark, Ink, outline, nil, stack{r.t0, r.s0}, stack{r.t1, r.s1})
	}
	p.state(s, r)
	p.defects(s, r)
}

// material fills what is there; a cavity is filled by its wool and its frame.
func (p pen) material(s Slab, r patch, dash []float64) {
	p.hatch(s.Hatch, r)
	if s.Fill != nil {
		p.fill(*s.Fill, s.ThicknessMM, r, dash)
	}
	p.frame(s, r, dash)
}

// fill lays the wool against the cavity's inward face and shows where it is missing.
func (p pen) fill(f Fill, depthMM float64, r patch, dash []float64) {
	deep := r.depth()
	if known(f.ThicknessMM) && known(depthMM) {
		deep *= math.Min(1, f.ThicknessMM/depthMM)
	}
	h := Wool
	if f.Loose {
		h = LooseFill
	}
	wool := patch{r.t0, r.t0 + deep, r.s0, r.s1 - share(f.Missing)*(r.s1-r.s0)}
	p.hatch(h, wool)
	if deep < r.depth()-1 {
		p.stroke(RoleHatch, Line, hair, dash, stack{wool.t1, wool.s0}, stack{wool.t1, wool.s1})
	}
	if f.Missing > 0 && wool.s1 < r.s1-2 {
		p.stroke(RoleMark, Stop, outline, nil, stack{wool.t0, wool.s1}, stack{wool.t1, wool.s1})
		p.area(RoleMark, None, Stop, 1, missing, patch{r.t0 + 2, r.t0 + deep - 2, wool.s1 + 3, r.s1 - 2}.corners()...)
	}
}

// outline draws the slab's edge: solid for what is up, dashed for what is not, open at the far end where it is in dispute.
func (p pen) outline(s Slab, r patch, cut float64, dash []float64, gap bool) {
	if p.place.closed() && !gap && !open(s) && s.State != PartInstalled {
		p.loop(r.t0, dash)
		p.loop(r.t1, dash)
		return
	}
	if s.State == PartInstalled && cut < r.s1 {
		p.area(RoleSlab, None, Ink, 1, dashed, patch{r.t0, r.t1, cut, r.s1}.corners()...)
		if cut > r.s0 {
			p.area(RoleSlab, None, Ink, outline, nil, patch{r.t0, r.t1, r.s0, cut}.corners()...)
		}
		return
	}
	if !open(s) {
		p.area(RoleSlab, None, Ink, outline, dash, r.corners()...)
		return
	}
	p.stroke(RoleSlab, Ink, outline, dash, stack{r.t0, r.s1}, stack{r.t0, r.s0}, stack{r.t1, r.s0}, stack{r.t1, r.s1})
	flare := math.Min(4, 0.4*r.depth())
	p.stroke(RoleMark, Stop, heavy, nil, stack{r.t0, r.s1 - 5}, stack{r.t0 - flare, r.s1 + 6})
	p.stroke(RoleMark, Stop, heavy, nil, stack{r.t1, r.s1 - 5}, stack{r.t1 + flare, r.s1 + 6})
}

// loop is a face of a slab that runs round and meets itself.
func (p pen) loop(t float64, dash []float64) {
	points := trace(p.place, stack{t, 0}, stack{t, p.place.length()})
	p.add(Shape{Form: Polygon, Role: RoleSlab, Points: points[:len(points)-1], Stroke: Ink, Width: outline, Dash: dash})
}

// breakLine says that the slab is drawn shorter than it is: a white band along the surface, with the usual pointed line on each side.
// The share says how far through the thickness it runs.
func (p pen) breakLine(b band, at float64) {
	r := patch{b.from, b.to, 0, p.place.length()}
	mid, half := r.t0+at*r.depth(), math.Min(4, 0.06*r.depth())
	sides := [2][]stack{}
	for i, t := range []float64{mid - half, mid + half} {
		run := []stack{{t, r.s0}}
		n := math.Max(1, math.Round((r.s1-r.s0)/70))
		for j := 0.0; j < n; j++ {
			c := r.s0 + (j+0.5)/n*(r.s1-r.s0)
			run = append(run, stack{t, c - 5}, stack{t - half*1.6, c - 2}, stack{t + half*1.6, c + 2}, stack{t, c + 5})
		}
		sides[i] = append(run, stack{t, r.s1})
	}
	back := append([]stack(nil), sides[1]...)
	for a, b := 0, len(back)-1; a < b; a, b = a+1, b-1 {
		back[a], back[b] = back[b], back[a]
	}
	p.area(RoleContext, Paper, None, 0, nil, append(append([]stack(nil), sides[0]...), back...)...)
	p.stroke(RoleContext, Ink, hair, nil, sides[0]...)
	p.stroke(RoleContext, Ink, hair, nil, sides[1]...)
}
