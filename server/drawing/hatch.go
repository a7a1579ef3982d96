package drawing

import "math"

// pen draws in stack coordinates and collects what it draws.
type pen struct {
	place  place
	slab   string
	shapes *[]Shape
}

func (p pen) add(s Shape) {
	s.Slab = p.slab
	*p.shapes = append(*p.shapes, s)
}

// stroke is a run of lines.
func (p pen) stroke(role Role, tone Tone, width float64, dash []float64, run ...stack) {
	p.add(Shape{Form: Path, Role: role, Points: trace(p.place, run...), Stroke: tone, Width: width, Dash: dash})
}

// area is a closed outline; it meets itself by running back to its first point.
func (p pen) area(role Role, fill, stroke Tone, width float64, dash []float64, run ...stack) {
	points := trace(p.place, append(run, run[0])...)
	p.add(Shape{Form: Polygon, Role: role, Points: points[:len(points)-1], Fill: fill, Stroke: stroke, Width: width, Dash: dash})
}

func (p pen) dot(role Role, fill, stroke Tone, radius, t, s float64) {
	p.add(Shape{Form: Circle, Role: role, Points: []Point{p.place.at(t, s)}, Fill: fill, Stroke: stroke, Width: hair, Radius: radius})
}

// Stroke widths, in drawing units.
const (
	hair    = 0.8
	outline = 1.5
	heavy   = 2.25
)

// patch is the part of a slab that is hatched.
type patch struct{ t0, t1, s0, s1 float64 }

func (r patch) depth() float64 { return r.t1 - r.t0 }
func (r patch) inside(t, s, margin float64) bool {
	return t >= r.t0+margin && t <= r.t1-margin && s >= r.s0+margin && s <= r.s1-margin
}
func (r patch) corners() []stack {
	return []stack{{r.t0, r.s0}, {r.t1, r.s0}, {r.t1, r.s1}, {r.t0, r.s1}}
}

// hatches says how each material fills a patch.
var hatches = map[Hatch]func(pen, patch){
	Masonry:    hatchMasonry,
	Concrete:   hatchConcrete,
	Timber:     hatchTimber,
	Board:      func(p pen, r patch) { hatchLines(p, r, 0.5) },
	DenseBoard: func(p pen, r patch) { hatchLines(p, r, 1./3, 2./3) },
	Wool:       hatchWool,
	Membrane:   hatchMembrane,
	Mat:        hatchMat,
	Metal:      hatchMetal,
	Air:        func(pen, patch) {},
	Plaster:    func(p pen, r patch) { hatchDots(p, r, 5, 0.7) },
	Screed:     hatchScreed,
	Glass:      hatchGlass,
	LooseFill:  hatchLoose,
}

// hatch fills the patch as the material is drawn. Nothing it draws leaves the patch.
func (p pen) hatch(h Hatch, r patch) {
	if draw, ok := hatches[h]; ok && r.depth() > 0 && r.s1-r.s0 > 2 {
		draw(p, r)
	}
}

// thin is one line of a hatch, cut to the patch.
func (p pen) thin(r patch, a, b stack) {
	if a, b, ok := clip(r, a, b); ok {
		p.stroke(RoleHatch, Line, hair, nil, a, b)
	}
}

// clip cuts the line to the patch (Liang and Barsky); ok is false where nothing is left.
func clip(r patch, a, b stack) (stack, stack, bool) {
	from, to := 0.0, 1.0
	dt, ds := b.t-a.t, b.s-a.s
	for _, edge := range [4][2]float64{{-dt, a.t - r.t0}, {dt, r.t1 - a.t}, {-ds, a.s - r.s0}, {ds, r.s1 - a.s}} {
		p, q := edge[0], edge[1]
		switch {
		case p == 0 && q < 0:
			return a, b, false
		case p < 0:
			from = math.Max(from, q/p)
		case p > 0:
			to = math.Min(to, q/p)
		}
	}
	if to-from <= 1e-9 {
		return a, b, false
	}
	return stack{a.t + from*dt, a.s + from*ds}, stack{a.t + to*dt, a.s + to*ds}, true
}

// jitter is a fixed scatter between -0.5 and 0.5, so that the same drawing is drawn twice the same.
func jitter(i, j int) float64 {
	h := uint32(i)*374761393 + uint32(j)*668265263
	h = (h ^ h>>13) * 1274126177
	return float64((h^h>>16)%1000)/1000 - 0.5
}

// cells calls do for each cell of a loose grid over the patch, scattered a little about its middle.
func cells(r patch, size float64, do func(i, j int, t, s float64)) {
	rows := int(math.Max(1, math.Round(r.depth()/size)))
	columns := int(math.Max(1, math.Round((r.s1-r.s0)/size)))
	dt, ds := r.depth()/float64(rows), (r.s1-r.s0)/float64(columns)
	for i := range rows {
		for j := range columns {
			do(i, j, r.t0+(float64(i)+0.5+0.55*jitter(i, j))*dt, r.s0+(float64(j)+0.5+0.7*jitter(j, i+7))*ds)
		}
	}
}

func hatchMasonry(p pen, r patch) {
	d := r.depth()
	for c := r.s0 - d + 4; c < r.s1; c += 8 {
		p.thin(r, stack{r.t0, c}, stack{r.t1, c + d})
	}
}

func hatchLines(p pen, r patch, at ...float64) {
	for _, share := range at {
		t := r.t0 + share*r.depth()
		p.stroke(RoleHatch, Line, hair, nil, stack{t, r.s0}, stack{t, r.s1})
	}
}

func hatchDots(p pen, r patch, size, radius float64) {
	cells(r, size, func(_, _ int, t, s float64) {
		if r.inside(t, s, radius) {
			p.dot(RoleHatch, Line, None, radius, t, s)
		}
	})
}

func hatchConcrete(p pen, r patch) {
	cells(r, 10, func(i, j int, t, s float64) {
		const side = 2.6
		switch {
		case (i+2*j)%3 != 0 || r.depth() < 9:
			if r.inside(t, s, 0.8) {
				p.dot(RoleHatch, Line, None, 0.8, t, s)
			}
		case r.inside(t, s, side):
			p.area(RoleHatch, None, Line, hair, nil, stack{t - side, s}, stack{t + side*0.6, s - side}, stack{t + side*0.6, s + side})
		}
	})
}

func hatchScreed(p pen, r patch) {
	cells(r, 9, func(i, j int, t, s float64) {
		if (i+j)%2 == 0 {
			if r.inside(t, s, 0.8) {
				p.dot(RoleHatch, Line, None, 0.8, t, s)
			}
			return
		}
		p.thin(r, stack{t, s - 2.5}, stack{t, s + 2.5})
	})
}

func hatchLoose(p pen, r patch) {
	cells(r, 7, func(_, _ int, t, s float64) {
		if r.inside(t, s, 1.9) {
			p.dot(RoleHatch, None, Line, 1.7, t, s)
		}
	})
}

// hatchTimber draws end grain: the year rings of one piece after another.
func hatchTimber(p pen, r patch) {
	long := math.Max(26, 1.5*r.depth())
	for s := r.s0; s < r.s1-1; s += long {
		piece := patch{r.t0, r.t1, s, math.Min(s+long, r.s1)}
		if s > r.s0 {
			p.stroke(RoleHatch, Line, hair, nil, stack{r.t0, s}, stack{r.t1, s})
		}
		centre := stack{r.t0 - 0.35*r.depth(), s + long/2}
		for radius := 0.35*r.depth() + 3; radius < 1.6*r.depth()+long/2; radius += 4.5 {
			const parts = 18
			for i := range parts {
				a, b := math.Pi*(float64(i)/parts-0.5), math.Pi*(float64(i+1)/parts-0.5)
				p.thin(piece, stack{centre.t + radius*math.Cos(a), centre.s + radius*math.Sin(a)},
					stack{centre.t + radius*math.Cos(b), centre.s + radius*math.Sin(b)})
			}
		}
	}
}

// hatchWool is the slow zigzag from face to face.
func hatchWool(p pen, r patch) {
	half := math.Max(5, math.Min(16, 0.32*r.depth()))
	n := math.Max(1, math.Round((r.s1-r.s0)/half))
	half = (r.s1 - r.s0) / n
	run := []stack{}
	for i := 0.0; i <= n; i++ {
		t := r.t0
		if int(i)%2 == 1 {
			t = r.t1
		}
		run = append(run, stack{t, r.s0 + i*half})
	}
	p.stroke(RoleHatch, Line, 1, nil, run...)
}

func hatchMembrane(p pen, r patch) {
	in := math.Min(1.5, 0.2*r.depth())
	p.area(RoleHatch, Ink, None, 0, nil, patch{r.t0 + in, r.t1 - in, r.s0 + in, r.s1 - in}.corners()...)
}

func hatchMat(p pen, r patch) {
	rows := math.Max(1, math.Floor(r.depth()/5))
	gap := r.depth() / rows
	for i := 0.0; i < rows; i++ {
		t := r.t0 + (i+0.5)*gap
		for s := r.s0 + 2 + 5*math.Mod(i, 2); s < r.s1; s += 10 {
			if a, b, ok := clip(r, stack{t, s}, stack{t, s + 5}); ok {
				p.stroke(RoleHatch, Ink, 1.1, nil, a, b)
			}
		}
	}
}

func hatchMetal(p pen, r patch) {
	t := (r.t0 + r.t1) / 2
	width := math.Max(2, math.Min(4, 0.4*r.depth()))
	p.stroke(RoleHatch, Ink, width, nil, stack{t, r.s0 + width/2}, stack{t, r.s1 - width/2})
}

func hatchGlass(p pen, r patch) {
	d := math.Min(r.depth(), 12)
	for s := r.s0 + 10; s < r.s1; s += 34 {
		for _, shift := range []float64{0, 4, 8} {
			mid := (r.t0 + r.t1) / 2
			p.thin(r, stack{mid - d/2, s + shift}, stack{mid + d/2, s + shift + d})
		}
	}
}
