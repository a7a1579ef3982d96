package drawing

import "math"

// state adds, at the slab's far end, what its state is known by: a bracket that closes over a covered layer, the same bracket
// broken where nobody saw it, a square for what waits to be seen or was accepted.
func (p pen) state(s Slab, r patch) {
	low, out := r.s1+bracketLow, r.s1+bracketOut
	in := math.Min(1, 0.15*r.depth())
	if p.place.closed() {
		low, out = 2*bracketLow, 2*bracketOut
		in = math.Min(3, 0.25*r.depth())
	}
	a, b := r.t0+in, r.t1-in
	switch s.State {
	case Covered:
		p.clear(patch{r.t0, r.t1, low - 2, out + 2})
		p.stroke(RoleMark, Ink, heavy, nil, stack{a, low}, stack{a, out}, stack{b, out}, stack{b, low})
	case CoveredUnseen:
		p.clear(patch{r.t0, r.t1, low - 2, out + 2})
		gap := math.Max(2.5, math.Min(12, 0.4*r.depth()))
		mid := (a + b) / 2
		p.stroke(RoleMark, Wait, heavy, nil, stack{a, low}, stack{a, out}, stack{mid - gap/2, out})
		p.stroke(RoleMark, Wait, heavy, nil, stack{b, low}, stack{b, out}, stack{mid + gap/2, out})
	case Ready, Accepted:
		p.clear(patch{r.t0, r.t1, low - 2, out + 2})
		half, mid, fill := math.Min(3, 0.4*r.depth()), (r.t0+r.t1)/2, None
		if s.State == Accepted {
			fill = Ink
		}
		centre := (low + out) / 2
		p.area(RoleMark, fill, Ink, 1.2, nil, patch{mid - half, mid + half, centre - half, centre + half}.corners()...)
	}
}

// clear wipes the material under a mark where the surface runs round and has no end to put the mark beyond.
func (p pen) clear(r patch) {
	if p.place.closed() {
		p.area(RoleMark, Paper, None, 0, nil, r.corners()...)
	}
}

// defects draws what was found, where it is.
func (p pen) defects(s Slab, r patch) {
	long := p.place.length()
	for i, d := range s.Defects {
		switch d.Kind {
		case OpenEdge:
			// The gap between the slab and what it should meet, closed by a stroke on the far side so that it reads as a gap.
			far := long
			if p.place.closed() {
				far = long - openGap/2
			}
			p.stroke(RoleMark, Stop, heavy, nil, stack{r.t0, r.s1}, stack{r.t1, r.s1})
			p.stroke(RoleMark, Stop, heavy, nil, stack{r.t0, far}, stack{r.t1, far})
		case Bridge:
			p.screw(r, long*(0.62-0.07*float64(i%4)))
		case Other:
			if !open(s) {
				p.stroke(RoleMark, Stop, heavy, nil, stack{r.t0, r.s1 - 9}, stack{r.t1, r.s1})
			}
		}
	}
}

// screw crosses the cavity from the outward face, head and point.
func (p pen) screw(r patch, s float64) {
	point := math.Min(6, 0.2*r.depth())
	p.stroke(RoleMark, Stop, 5, nil, stack{r.t0 + point, s}, stack{r.t1, s})
	p.stroke(RoleMark, Paper, 1, []float64{1.5, 2}, stack{r.t0 + point, s}, stack{r.t1 - 2, s})
	p.area(RoleMark, Stop, None, 0, nil, stack{r.t0, s}, stack{r.t0 + point, s - 2.5}, stack{r.t0 + point, s + 2.5})
	p.area(RoleMark, Stop, None, 0, nil, patch{r.t1 - math.Min(3, 0.2*r.depth()), r.t1, s - 7, s + 7}.corners()...)
}
