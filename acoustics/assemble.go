package acoustics

import "strconv"

// spring is what lies between two leaves: a cavity, a resilient mat, or both in series.
type spring struct {
	fluids []fluid
	depth  float64  // m, of a cavity
	filled float64  // m of it filled with wool
	frames []Frame  // framing of the cavities that were merged, in order
	open   bool     // one of the merged cavities has no framing, so nothing crosses
	unsaid bool     // and of none is said whether it has
	mat    float64  // s' of the mat in N/m³; 0: none
	loss   float64  // of the mat
	mats   float64  // its mass, kg/m²
	points []Bridge // rigid points across it
}

// fluid is one layer of air or wool.
type fluid struct {
	depth float64
	r     float64 // flow resistivity Pa·s/m²; 0: air
}

// assembly is a build-up sorted into leaves and what lies between them: len(leaves) = len(springs) + 1.
type assembly struct {
	leaves  []leaf
	springs []spring
	w, h    float64
	open    bool // a cavity or mat lies on an outer face
	fit     *fitted
}

// parts is implemented by the layer kinds that the prediction knows.
type parts interface{ addTo(*assembler) }

// assembler takes the layers in order.
type assembler struct {
	out     assembly
	plies   []ply // bonded, not yet made a plate
	current leaf
	started bool
}

func (a *assembler) closePlate() {
	if len(a.plies) > 0 {
		a.current.plates = append(a.current.plates, newPlate(a.plies))
		a.plies = nil
	}
}

func (a *assembler) closeLeaf() {
	a.closePlate()
	a.current.finish(a.out.w, a.out.h, a.out.constants())
	a.out.leaves = append(a.out.leaves, a.current)
	a.current, a.started = leaf{}, false
}

func (b Board) addTo(a *assembler) {
	p := b.ply()
	p.mount *= a.out.constants().mounting
	a.started = true
	if n := len(a.plies); n == 0 || !b.Bonded && !(p.heavy && a.plies[n-1].heavy) {
		a.closePlate()
	}
	a.plies = append(a.plies, p)
}

func (m Membrane) addTo(a *assembler) {
	a.closePlate()
	a.started = true
	d := damper{mass: m.MassKgM2(), h: m.Thickness / 1000, g: membraneShear, eta: membraneLoss, after: len(a.current.plates) - 1, polymer: m.Polymer}
	if m.Polymer != nil {
		d.celsius = roomCelsius
		if m.Celsius != nil {
			d.celsius = *m.Celsius
		}
	}
	if mat, ok := MaterialByID(m.Material); ok {
		d.g, d.eta = mat.ShearModulusMPa*1e6, mat.LossFactor
	}
	if m.ShearModulusMPa != nil {
		d.g = *m.ShearModulusMPa * 1e6
	}
	if m.LossFactor != nil {
		d.eta = *m.LossFactor
	}
	a.current.dampers = append(a.current.dampers, d)
	a.weight(d.mass)
	a.current.h += d.h
}

func (l LooseFill) addTo(a *assembler)    { a.started = true; a.weight(l.Mass) }
func (s SoftCovering) addTo(a *assembler) { a.started = true; a.weight(s.Mass) }

func (a *assembler) weight(mass float64) { a.current.mass += mass }

func (c Cavity) addTo(a *assembler) { a.spring().merge(c) }

// spring is the spring that the next cavity or mat belongs to: adjacent ones are one spring.
func (a *assembler) spring() *spring {
	n := len(a.out.springs)
	if a.started || n == 0 || len(a.out.leaves) != n {
		a.closeLeaf()
		a.out.springs = append(a.out.springs, spring{})
		n++
	}
	return &a.out.springs[n-1]
}

// merge adds a cavity behind those that are there: depths add, fills keep their place.
func (s *spring) merge(c Cavity) {
	d := c.Depth / 1000
	s.depth += d
	if c.Fill == nil {
		s.add(fluid{depth: d})
	} else {
		t := c.Fill.ThicknessMM / 1000
		r := FlowResistivity(c.Fill.DensityKgM3)
		if c.Fill.FlowResistivityKPaSM2 != nil {
			r = *c.Fill.FlowResistivityKPaSM2 * 1000
		}
		s.filled += t
		// Where in its cavity the wool lies is not said; the middle keeps the prediction the same from both sides.
		if rest := (d - t) / 2; rest > 1e-6 {
			s.add(fluid{depth: rest})
			s.add(fluid{depth: t, r: r})
			s.add(fluid{depth: rest})
		} else {
			s.add(fluid{depth: t, r: r})
		}
	}
	if c.Frame == nil || (c.Frame.Kind == "none" && c.Frame.Resilient == "") {
		s.unsaid = c.Frame == nil && (s.unsaid || s.depth == d)
		s.open = true
		return
	}
	s.unsaid = false
	s.frames = append(s.frames, *c.Frame)
}

// add puts a fluid behind the others: the same air or wool is one fluid.
func (s *spring) add(f fluid) {
	if n := len(s.fluids); n > 0 && s.fluids[n-1].r == f.r {
		s.fluids[n-1].depth += f.depth
		return
	}
	s.fluids = append(s.fluids, f)
}

func (m Mat) addTo(a *assembler) {
	s := a.spring()
	stiffness, loss := m.DynamicStiffnessMNM3*1e6, matLoss
	if m.LossFactor != nil {
		loss = *m.LossFactor
	}
	if s.mat > 0 { // in series: 1/s' adds
		total := 1/s.mat + 1/stiffness
		loss = (s.loss/s.mat + loss/stiffness) / total
		stiffness = 1 / total
	}
	s.mat, s.loss = stiffness, loss
	s.mats += m.Mass
}

// assemble sorts the layers. Adjacent boards and membranes are one leaf, adjacent cavities one cavity.
func (b BuildUp) assemble(fit *fitted) (assembly, error) {
	a := assembler{out: assembly{w: b.WidthM, h: b.HeightM, fit: fit}}
	for i, l := range b.Layers {
		p, ok := plain(l.Element).(parts)
		if !ok {
			return assembly{}, &InputError{
				Field: indexed("layers", i) + ".kind", Value: strconv.Quote(l.Kind()),
				Hint: "it changes an existing structure and can't be predicted by itself",
			}
		}
		p.addTo(&a)
	}
	if a.started || len(a.out.leaves) == 0 {
		a.closeLeaf()
	}
	// A cavity or mat on an outer face leads to the open room: it is no partition. A mat still weighs on what it lies on.
	if n := len(a.out.springs); n > 0 && n == len(a.out.leaves) {
		a.out.leaves[n-1].mass += a.out.springs[n-1].mats
		a.out.springs = a.out.springs[:n-1]
		a.out.open = true
	}
	if len(a.out.leaves) > 1 && a.out.leaves[0].mass == 0 {
		a.out.leaves[1].mass += a.out.springs[0].mats
		a.out.leaves, a.out.springs = a.out.leaves[1:], a.out.springs[1:]
		a.out.open = true
	}
	a.out.shareMats()
	if a.out.leaves[0].mass == 0 {
		return assembly{}, &InputError{Field: "layers", Value: "without a solid layer", Hint: "give at least one board, membrane, masonry or the like"}
	}
	return a.out, nil
}

// shareMats gives each neighbour of a resilient mat half of its mass: it moves with both.
func (a *assembly) shareMats() {
	for i, s := range a.springs {
		if s.mat > 0 {
			a.leaves[i].mass += s.mats / 2
			a.leaves[i+1].mass += s.mats / 2
		}
	}
}
