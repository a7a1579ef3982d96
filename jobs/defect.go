package jobs

import (
	"fmt"
	"math"
	"slices"

	"tacet/acoustics"
)

// Fault is a failed check that nobody has put right, with what was measured.
type Fault struct {
	Surface  *Surface
	Layer    *Layer // nil for a check of the whole surface
	Check    *Check
	Record   *Record
	Measured map[string]float64
}

// Defect is what the calculation makes of a fault. The zero Defect says that its effect is not known.
type Defect struct {
	// SlitMM and SlitM are width and length of a slit through the leaf of the layer.
	SlitMM, SlitM float64
	// PointsPerM2 are rigid points across the cavity, or through the mat, behind the layer.
	PointsPerM2 float64
	// Without is the share of the area where the layer, or the wool that it lays in, is missing; WoolMM is what lies there
	// instead.
	Without, WoolMM float64
	// MassKgM2 and ThicknessMM are what was found to be fitted; 0: as recorded.
	MassKgM2, ThicknessMM float64
	// Unproved is set where no measured table stands behind the model: the spread widens too.
	Unproved bool
	// Silent is set where the fault matters, but not for sound: nothing widens.
	Silent bool
	// Says is how the fault was taken, in plain words.
	Says string
}

// patch is a part of the area where a partition is built otherwise.
type patch struct {
	share  float64
	layers []acoustics.Layer
}

// faultsOf lists the faults that checks found on surfaces and nobody has put right, those that without names left out.
func (j *Job) faultsOf(on []*Surface, without ...*Record) []Fault {
	var fs []Fault
	for _, s := range on {
		for _, c := range s.Checks {
			for _, h := range c.Heads {
				d, ok := h.What.(*CheckResult)
				if !ok || d.Result != Fail || j.CuredBy(h) != nil || slices.Contains(without, h) {
					continue
				}
				fs = append(fs, Fault{Surface: s, Layer: s.Layer(c.Layer), Check: c, Record: h, Measured: d.Measured})
			}
		}
	}
	return fs
}

// locate turns the faults that checks found into what the calculation knows. Where no published value exists for a fault,
// the spread widens and a note says so.
func (p *partition) locate(j *Job, on []*Surface, b basis, without []*Record) {
	if b != asFound {
		return
	}
	faults := j.faultsOf(on, without...)
	models := make([]Defect, len(faults))
	for i, f := range faults {
		if model := f.Check.Rule.Defect; model != nil {
			models[i] = model(f)
		}
	}
	// What changes the whole area comes first, so that a part of it is built from what is really there.
	for _, partly := range []bool{false, true} {
		for i, f := range faults {
			if d := models[i]; d.Without > 0 == partly && !d.Silent {
				p.note(f, d, p.take(f, d))
			}
		}
	}
}

// note says how a fault was taken.
func (p *partition) note(f Fault, d Defect, taken bool) {
	if taken {
		says := d.Says
		if d.Unproved {
			p.spread += unknownSpreadDB * unknownSpreadDB
			says += fmt.Sprintf("; no measured table stands behind it: the spread is widened by %.0f dB (our own figure)", unknownSpreadDB)
		}
		p.notes = append(p.notes, says)
		return
	}
	p.unknown = append(p.unknown, f.Record)
	p.spread += unknownSpreadDB * unknownSpreadDB
	p.notes = append(p.notes, fmt.Sprintf("%s failed (%s): its effect is not known; the spread is widened by %.0f dB (our own figure)", f.Check.Rule.Code, f.Check.Rule.Title, unknownSpreadDB))
}

// take puts a defect into the build-up; false where it says nothing that can be calculated, or its layer is not part of
// the partition.
func (p *partition) take(f Fault, d Defect) bool {
	at := p.placeOf(f)
	if at < 0 {
		return false
	}
	leaf, spring, depth := p.groupOf(f, at)
	taken := false
	if d.SlitMM > 0 && d.SlitM > 0 && leaf > 0 {
		p.Gaps = append(p.Gaps, acoustics.Gap{Leaf: leaf, LengthM: d.SlitM, WidthMM: d.SlitMM, DepthMM: depth})
		taken = true
	}
	if d.PointsPerM2 > 0 && spring > 0 {
		p.PointBridges = append(p.PointBridges, acoustics.PointBridge{Cavity: spring, N: min(d.PointsPerM2, acoustics.BridgeRange.Max)})
		taken = true
	}
	if changed, ok := p.changed(at, d); ok && d.Without > 0 {
		p.patches = append(p.patches, patch{share: min(1, d.Without), layers: changed})
		taken = true
	} else if ok {
		p.Layers = changed
		taken = true
	}
	return taken
}

// changed is the stack with one layer as the defect has it: missing, with less wool, lighter.
func (p *partition) changed(at int, d Defect) ([]acoustics.Layer, bool) {
	layers := slices.Clone(p.Layers)
	switch e := layers[at].Element.(type) {
	case acoustics.Cavity:
		switch {
		case d.Without > 0 && e.Fill != nil && d.WoolMM > 0:
			fill := *e.Fill
			fill.ThicknessMM = min(d.WoolMM, e.Depth)
			e.Fill = &fill
		case d.Without > 0 && e.Fill != nil:
			e.Fill = nil
		default:
			return nil, false
		}
		layers[at] = acoustics.Layer{Element: e}
		return layers, true
	case acoustics.Membrane:
		if d.Without > 0 {
			return slices.Delete(layers, at, at+1), true
		}
	}
	if d.MassKgM2 == 0 && d.ThicknessMM == 0 {
		return nil, false
	}
	mass, thickness := layers[at].MassKgM2(), layers[at].ThicknessMM()
	if d.MassKgM2 > 0 {
		mass = d.MassKgM2
	}
	if d.ThicknessMM > 0 {
		thickness = d.ThicknessMM
	}
	layers[at] = acoustics.Layer{Element: layers[at].Weighed(mass, thickness)}
	return layers, true
}

// placeOf finds a fault's layer among the layers of the partition, the existing cavity for wool laid into it; -1 where it
// is not part of it.
func (p *partition) placeOf(f Fault) int {
	if f.Layer == nil || f.Layer.Share == 0 {
		return -1
	}
	if n := workOnExisting(f.Layer.Specified); n > 0 {
		if n > len(p.kept) {
			return -1
		}
		return p.kept[n-1]
	}
	before, count := 0, 0
	for _, o := range f.Surface.Layers {
		if workOnExisting(o.Specified) > 0 || o.Share == 0 {
			continue
		}
		count++
		if o.N < f.Layer.N {
			before++
		}
	}
	at := len(p.Layers) - count + before
	if p.inward(f.Surface) {
		at = count - 1 - before
	}
	if at < 0 || at >= len(p.Layers) {
		return -1
	}
	return at
}

// inward tells whether the layers of a surface run against the partition: from its outer face towards the structure.
func (p *partition) inward(s *Surface) bool {
	return s.Side == 1 || s.Structure == "" && s.Kind.Overhead()
}

func divides(l acoustics.Layer) bool {
	return l.Role() == acoustics.RoleCavity || l.Role() == acoustics.RoleResilient
}

// groupOf finds the leaf that a layer is part of, with its depth in mm, and what lies behind it towards the structure: the
// cavity or mat, or the layer itself where it is one. Leaves and what divides them are counted from the first leaf, 1
// upward; 0: none.
func (p *partition) groupOf(f Fault, at int) (leaf, spring int, depth float64) {
	leaves, springs := 0, 0
	for i, e := range p.Layers {
		first := i == 0 || divides(p.Layers[i-1]) != divides(e)
		switch {
		case first && divides(e) && leaves > 0:
			springs++
		case first && !divides(e):
			leaves++
		}
		if i != at {
			continue
		}
		if divides(e) {
			return 0, springs, 0
		}
		leaf, spring = leaves, springs
		from, to := i, i
		for from > 0 && !divides(p.Layers[from-1]) {
			from--
		}
		for to+1 < len(p.Layers) && !divides(p.Layers[to+1]) {
			to++
		}
		for _, l := range p.Layers[from : to+1] {
			depth += l.ThicknessMM()
		}
		if p.inward(f.Surface) {
			spring++ // the structure lies on the other side
			if to+1 == len(p.Layers) {
				spring = 0
			}
		}
	}
	return leaf, spring, depth
}

// predict calculates the partition. Where parts of it are built otherwise, what passes is summed over the area:
//
//	R = -10 lg Σ s_i 10^(-R_i/10)        s_i the share of the area, arithmetic
func (p partition) predict() (acoustics.Prediction, error) {
	got, err := p.Predict()
	if err != nil || len(p.patches) == 0 {
		return got, err
	}
	whole := 1.0
	for _, x := range p.patches {
		whole -= x.share
	}
	// More than the whole area can't be wrong: patches that would overlap count in proportion.
	scale := 1.0
	if whole < 0 {
		scale, whole = 1/(1-whole), 0
	}
	through := map[int]float64{}
	sum := func(share float64, r acoustics.Curve) {
		for hz, db := range r.All() {
			through[hz] += share * math.Pow(10, -db/10)
		}
	}
	sum(whole, got.R)
	for _, x := range p.patches {
		other := p.BuildUp
		other.Layers = x.layers
		there, err := other.Predict()
		if err != nil {
			return got, err
		}
		sum(x.share*scale, there.R)
	}
	var r acoustics.Curve
	for hz := range got.R.All() {
		r.Set(hz, -10*math.Log10(through[hz]))
	}
	rated, err := acoustics.RateAirborne(r)
	if err != nil {
		return got, err
	}
	got.R, got.RwDB, got.CDB, got.CtrDB = r, rated.Value, rated.C, rated.Ctr
	if got.LnwDB != nil {
		got.Notes = append(got.Notes, "the impact value leaves out what is missing over a part of the area")
	}
	return got, nil
}

// The models that more than one check uses.

// slitOf takes an open edge as a slit; whole tells that an edge whose length was not measured is open all round.
func slitOf(f Fault, whole bool) Defect {
	gap, length := f.Measured["gap_mm"], f.Measured["length_m"]
	if gap == 0 || length == 0 && !whole {
		return Defect{}
	}
	says := ""
	if length == 0 {
		length = f.Surface.PerimeterM()
		says = " (its length was not measured: the whole perimeter is taken)"
	}
	if f.Layer.N < len(f.Surface.Layers) && f.Surface.Layer(f.Layer.N+1).Share > 0 {
		says += "; at most that, since what lies over it may close it"
	}
	return Defect{SlitMM: gap, SlitM: length, Says: fmt.Sprintf("open edge of layer %d of %s: taken as a slit of %s mm by %s m through its leaf%s",
		f.Layer.N, f.Surface.Code, trim(gap), trim(length), says)}
}

func openPerimeter(f Fault) Defect { return slitOf(f, true) }
func openCutOut(f Fault) Defect    { return slitOf(f, false) }

// pointsFound takes a counted number of hard spots as rigid points behind the layer.
func pointsFound(f Fault) Defect {
	count, area := f.Measured["count"], f.Surface.NetAreaM2()
	if count == 0 || area <= 0 {
		return Defect{}
	}
	return Defect{PointsPerM2: count / area, Unproved: true, Says: fmt.Sprintf("%s on layer %d of %s: %s hard points taken as %.2f rigid bridges per m²",
		f.Check.Rule.Code, f.Layer.N, f.Surface.Code, trim(count), count/area)}
}

// missingShare takes a measured area as the share where the layer, or its wool, is missing.
func missingShare(f Fault) Defect {
	missing, area := f.Measured["area_m2"], f.Surface.NetAreaM2()
	depth, measured := f.Measured["depth_mm"]
	if area <= 0 || missing == 0 && !measured {
		return Defect{}
	}
	share, where := min(1, missing/area), trim(missing)+" m²"
	if missing == 0 {
		share, where = 1, "the whole area"
	}
	says := fmt.Sprintf("layer %d of %s is missing over %s", f.Layer.N, f.Surface.Code, where)
	if depth > 0 {
		says = fmt.Sprintf("layer %d of %s is only %s mm deep over %s", f.Layer.N, f.Surface.Code, trim(depth), where)
	}
	return Defect{Without: share, WoolMM: depth, Says: fmt.Sprintf("%s: taken for %s of it", says, percent(share))}
}

// weighedMaterial takes what was weighed and measured as what is fitted.
func weighedMaterial(f Fault) Defect {
	d := Defect{MassKgM2: f.Measured["mass_kg_m2"], ThicknessMM: f.Measured["thickness_mm"]}
	var found []string
	if d.MassKgM2 > 0 {
		found = append(found, trim(d.MassKgM2)+" kg/m²")
	}
	if d.ThicknessMM > 0 {
		found = append(found, trim(d.ThicknessMM)+" mm")
	}
	if len(found) > 0 {
		d.Says = fmt.Sprintf("layer %d of %s: calculated with what was found, %s", f.Layer.N, f.Surface.Code, JoinWords(found))
	}
	return d
}

// noSound is for faults that hurt people or the building, not the sound insulation.
func noSound(Fault) Defect { return Defect{Silent: true} }
