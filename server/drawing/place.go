package drawing

import "math"

// place turns stack coordinates into a place on the drawing: t runs outward through the thickness, s along the surface. Each slab
// is drawn once, in stack coordinates, whether the surface is a wall, a ceiling or a ring round a pipe.
type place interface {
	at(t, s float64) Point
	length() float64 // of the surface as drawn
	closed() bool    // the surface runs round and meets itself
	step() float64   // longest stretch of s that is drawn straight
}

// straight is a surface in a line: origin, and the unit vectors of t and s.
type straight struct {
	origin Point
	t, s   Point
	long   float64
}

func (p straight) at(t, s float64) Point {
	return Point{p.origin.X + t*p.t.X + s*p.s.X, p.origin.Y + t*p.t.Y + s*p.s.Y}
}
func (p straight) length() float64 { return p.long }
func (p straight) closed() bool    { return false }
func (p straight) step() float64   { return math.Inf(1) }

// ring is a surface round a pipe: t outward from the member's radius.
type ring struct {
	centre Point
	radius float64
	middle float64 // half the thickness, where s is true to length
}

func (p ring) at(t, s float64) Point {
	// From the lower left, clockwise, so that the ends of the stretch lie away from the numbers.
	angle := 0.75*math.Pi + s/p.length()*2*math.Pi
	r := p.radius + t
	return Point{p.centre.X + r*math.Cos(angle), p.centre.Y + r*math.Sin(angle)}
}
func (p ring) length() float64 { return 2 * math.Pi * (p.radius + p.middle) }
func (p ring) closed() bool    { return true }
func (p ring) step() float64   { return 6 }

// box is a surface round a beam or a stack, with mitred corners: t outward from the member's half width and half height.
type box struct {
	centre        Point
	width, height float64 // half measures of the member
	middle        float64
}

func (p box) at(t, s float64) Point {
	w, h := p.width+t, p.height+t
	corners := [5]Point{{-w, h}, {-w, -h}, {w, -h}, {w, h}, {-w, h}} // from the lower left, clockwise
	share := s/p.length() + 0.125                                    // from the middle of the left side, clear of the mitres
	share -= math.Floor(share)
	side := int(share * 4)
	f := share*4 - float64(side)
	a, b := corners[side], corners[side+1]
	return Point{p.centre.X + a.X + f*(b.X-a.X), p.centre.Y + a.Y + f*(b.Y-a.Y)}
}
func (p box) length() float64 { return 4 * (p.width + p.height + 2*p.middle) }
func (p box) closed() bool    { return true }
func (p box) step() float64   { return p.length() / 48 } // 48 is a multiple of 8, so corners are met exactly

// stack is a point in stack coordinates.
type stack struct{ t, s float64 }

// trace follows the run of stack points on the drawing, in stretches short enough to bend with the surface.
func trace(p place, run ...stack) []Point {
	var out []Point
	for i, end := range run {
		if i == 0 {
			out = append(out, p.at(end.t, end.s))
			continue
		}
		begin := run[i-1]
		cuts := []float64{}
		if step := p.step(); !math.IsInf(step, 1) && end.s != begin.s {
			low, high := math.Min(begin.s, end.s), math.Max(begin.s, end.s)
			for c := math.Floor(low/step) + 1; c*step < high-1e-9; c++ {
				cuts = append(cuts, (c*step-begin.s)/(end.s-begin.s))
			}
			if end.s < begin.s {
				for a, b := 0, len(cuts)-1; a < b; a, b = a+1, b-1 {
					cuts[a], cuts[b] = cuts[b], cuts[a]
				}
			}
		}
		for _, f := range append(cuts, 1) {
			out = append(out, p.at(begin.t+f*(end.t-begin.t), begin.s+f*(end.s-begin.s)))
		}
	}
	return out
}
