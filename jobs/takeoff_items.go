package jobs

import (
	"fmt"
	"math"

	"tacet/acoustics"
)

// takeOff is the work on one surface's order.
type takeOff struct {
	s          *Surface
	existing   []acoustics.Layer
	boxes      int
	sheet      Sheet
	stock      []float64
	area, edge float64
	rules      map[string]float64
	out        TakeOff
}

func newTakeOff(s *Surface, existing []acoustics.Layer, boxes int, rules []TakeOffRule) *takeOff {
	t := &takeOff{s: s, existing: existing, boxes: boxes, sheet: defaultSheet, stock: StockScrews, area: s.NetAreaM2(), edge: s.PerimeterM(), rules: map[string]float64{}}
	for _, r := range rules {
		t.rules[r.Key] = r.Value
	}
	t.out = TakeOff{Items: []TakeOffItem{}, Screws: []TakeOffScrew{}, Stacks: []TakeOffStack{}, Notes: []string{}, Defaults: rules}
	return t
}

func (t *takeOff) note(format string, args ...any) {
	t.out.Notes = append(t.out.Notes, fmt.Sprintf(format, args...))
}

func (t *takeOff) work() TakeOff {
	if t.area == 0 {
		t.note("the area is not known: give the girth")
	}
	for _, l := range t.s.Layers {
		switch {
		case workOnExisting(l.Specified) > 0:
			t.onExisting(l)
		case isBoard(l):
			t.boards(l)
			t.screws(l)
		case l.Now.Role() == acoustics.RoleLimp:
			t.membrane(l)
		case isCavity(t.s, l):
			t.cavity(l)
		default:
			t.byArea(l)
		}
	}
	t.edges()
	if t.boxes > 0 {
		t.item(TakeOffItem{Group: GroupSealing, Item: "putty pad for a box", Quantity: float64(t.boxes), Unit: "piece", Net: float64(t.boxes), NetUnit: "piece"})
	}
	var load float64
	for _, l := range t.s.Layers {
		load += l.Now.MassKgM2()
	}
	t.out.AddedLoad = round(load * gravity)
	for _, i := range t.out.Items {
		t.out.KgTotal += i.Kg
	}
	t.out.KgTotal = round(t.out.KgTotal)
	t.note("weights and loads are calculated, not judged: manual handling and what a floor carries are for who answers for them on site")
	return t.out
}

func (t *takeOff) item(i TakeOffItem) {
	i.Quantity, i.Kg, i.Net = round(i.Quantity), round(i.Kg), round(i.Net)
	if i.KgEach != nil {
		each := round(*i.KgEach)
		i.KgEach = &each
	}
	t.out.Items = append(t.out.Items, i)
}

// pieces adds an item that comes in whole pieces of a weight.
func (t *takeOff) pieces(i TakeOffItem, kgEach float64) float64 {
	i.Quantity = math.Ceil(i.Quantity - 1e-9)
	i.KgEach, i.Kg = &kgEach, i.Quantity*kgEach
	t.item(i)
	return i.Quantity
}

// boards rounds up per layer: joints do not carry across, and what is cut off one layer is waste.
func (t *takeOff) boards(l *Layer) {
	each := round(t.sheet.AreaM2() * l.Now.MassKgM2())
	heavy := each > t.rules["one_person_kg"]
	n := t.pieces(TakeOffItem{Group: GroupBoards, Item: l.Name() + fmt.Sprintf(", sheet %s x %s mm", trim(t.sheet.WidthMM), trim(t.sheet.LengthMM)), Layer: l.N,
		Quantity: t.area * (1 + t.rules["waste"]) / t.sheet.AreaM2(), Unit: "sheet", M2Each: t.sheet.AreaM2(), Net: t.area, NetUnit: "m²", TwoPeople: heavy, Lifter: heavy && t.s.Kind.Overhead()}, each)
	if heavy {
		aid := "two people or an aid for each sheet"
		if t.s.Kind.Overhead() {
			aid = "two people and a lifter: it is fixed overhead"
		}
		t.note("layer %d: a sheet weighs %.0f kg: %s", l.N, each, aid)
	}
	t.stack(l, n)
}

// stack works out how many sheets lie on each other at most, by weight and by height.
func (t *takeOff) stack(l *Layer, n float64) {
	mass, thick := l.Now.MassKgM2(), l.Now.ThicknessMM()
	if mass <= 0 || thick <= 0 || n == 0 {
		return
	}
	sheets := max(1, math.Floor(min(t.rules["stack_kg_m2"]/mass, t.rules["stack_mm"]/thick)+1e-9))
	source := ""
	for _, r := range t.out.Defaults {
		if r.Key == "stack_kg_m2" {
			source = r.Source
		}
	}
	t.out.Stacks = append(t.out.Stacks, TakeOffStack{Layer: l.N, Sheets: int(sheets), Stacks: int(math.Ceil(n/sheets - 1e-9)), KgM2: t.rules["stack_kg_m2"], MM: t.rules["stack_mm"], Source: source})
}

// membrane comes in rolls, and its joints are taped.
func (t *takeOff) membrane(l *Layer) {
	roll := t.rules["roll_width_m"] * t.rules["roll_length_m"]
	each := round(roll * l.Now.MassKgM2())
	heavy := each > t.rules["one_person_kg"]
	t.pieces(TakeOffItem{Group: GroupMembranes, Item: fmt.Sprintf("%s, roll %s x %s m", l.Name(), trim(t.rules["roll_width_m"]), trim(t.rules["roll_length_m"])), Layer: l.N,
		Quantity: t.area * (1 + t.rules["membrane_laps"]) / roll, Unit: "roll", M2Each: roll, Net: t.area, NetUnit: "m²", TwoPeople: heavy}, each)
	if heavy {
		t.note("layer %d: a roll weighs %.0f kg: two people or an aid, or order shorter rolls", l.N, each)
	}
	joints := t.area / t.rules["roll_width_m"]
	t.item(TakeOffItem{Group: GroupMembranes, Item: "tape for joints", Layer: l.N, Quantity: joints * (1 + t.rules["spare"]), Unit: "m", Net: joints, NetUnit: "m"})
}

func (t *takeOff) byArea(l *Layer) {
	q := t.area * (1 + t.rules["waste"])
	t.item(TakeOffItem{Group: GroupOther, Item: l.Name(), Layer: l.N, Quantity: q, Unit: "m²", Kg: q * l.Now.MassKgM2(), Net: t.area, NetUnit: "m²"})
}

// onExisting counts the wool between existing timbers, and the area of what is taken away.
func (t *takeOff) onExisting(l *Layer) {
	switch e := l.Now.Element.(type) {
	case FillExisting:
		var frame *acoustics.Frame
		if e.Existing <= len(t.existing) {
			if c, ok := t.existing[e.Existing-1].Element.(acoustics.Cavity); ok {
				frame = c.Frame
			}
		}
		t.wool(l, e.Fill, frame)
	case RemoveExisting:
		t.item(TakeOffItem{Group: GroupTakenAway, Item: l.Name(), Layer: l.N, Quantity: t.area, Unit: "m²", Net: t.area, NetUnit: "m²"})
	}
}

// wool counts packs: the area less what the timbers take, times the depth.
func (t *takeOff) wool(l *Layer, f *acoustics.Fill, frame *acoustics.Frame) {
	net := t.area
	if frame != nil && (frame.Kind == "joist" || frame.Kind == "timber_stud" || frame.Kind == "staggered_stud") {
		net *= max(0, 1-t.rules["timber_mm"]/t.spacing(frame))
	}
	pack := t.rules["wool_pack_m3"]
	t.pieces(TakeOffItem{Group: GroupWool, Item: fmt.Sprintf("wool %s mm, %s kg/m³, pack of %s m²", trim(f.ThicknessMM), trim(f.DensityKgM3), trim(round3(pack/(f.ThicknessMM/1000)))), Layer: l.N,
		Quantity: net * f.ThicknessMM / 1000 / pack, Unit: "pack", M2Each: round3(pack / (f.ThicknessMM / 1000)), Net: net, NetUnit: "m²"}, pack*f.DensityKgM3)
}

func (t *takeOff) spacing(f *acoustics.Frame) float64 {
	if f.SpacingMM != nil {
		return *f.SpacingMM
	}
	return t.rules["spacing_mm"]
}

// cavity counts channel, clips, studs and wool of a framed or empty cavity.
func (t *takeOff) cavity(l *Layer) {
	c := l.Now.Element.(acoustics.Cavity)
	if c.Fill != nil {
		t.wool(l, c.Fill, c.Frame)
	}
	f := frameOf(l)
	if f == nil || t.s.Kind.Along() {
		return
	}
	spacing := t.spacing(f)
	along, across := max(value(t.s.WidthM), value(t.s.HeightM)), min(value(t.s.WidthM), value(t.s.HeightM))
	if isWall(t.s) && f.Resilient == "" {
		along, across = value(t.s.HeightM), value(t.s.WidthM) // studs stand
	}
	runs := math.Ceil(across*1000/spacing-1e-9) + 1
	var mass float64
	if f.MassKgM2 != nil {
		mass = *f.MassKgM2 * t.area
	}
	name := map[string]string{"clip": "channel", "bar": "resilient bar"}[f.Resilient]
	if name == "" {
		name = NameOfFrame(f.Kind)
	}
	t.item(TakeOffItem{Group: GroupFrames, Item: name, Layer: l.N, Quantity: runs * along, Unit: "m", Kg: mass, Net: runs * along, NetUnit: "m"})
	if isFreeFrame(t.s, l) {
		t.item(TakeOffItem{Group: GroupSealing, Item: "isolation strip under and over the frame", Layer: l.N, Quantity: t.edge * (1 + t.rules["spare"]), Unit: "m", Net: t.edge, NetUnit: "m"})
	}
	if f.Resilient != "clip" {
		return
	}
	perRun := math.Ceil(along*1000/t.rules["clip_pitch_mm"]-1e-9) + 1
	t.item(TakeOffItem{Group: GroupFrames, Item: "clip", Layer: l.N, Quantity: runs * perRun, Unit: "piece", Net: runs * perRun, NetUnit: "piece"})
	var hung float64
	for _, o := range t.s.Layers[l.N-1:] {
		hung += o.Now.MassKgM2()
	}
	load := round(spacing / 1000 * along / (perRun - 1) * hung)
	t.out.ClipLoad = &load
	t.note("an inner clip carries %.1f kg; compare with its data sheet", load)
}

// screws counts the screws of a board: the field by the area that one holds, and the edges.
func (t *takeOff) screws(l *Layer) {
	w, ok := t.s.ScrewWindow(l)
	if !ok {
		return
	}
	line := TakeOffScrew{Layer: l.N, MinMM: w.MinMM, MaxMM: w.MaxMM}
	name := "screw, no stock length fits"
	if mm := w.pick(t.stock); mm > 0 {
		line.StockMM = &mm
		name = "screw " + trim(mm) + " mm"
	}
	if line.StockMM == nil {
		t.note("layer %d: no stock screw fits the window %s to %s mm", l.N, trim(w.MinMM), trim(w.MaxMM))
	}
	t.out.Screws = append(t.out.Screws, line)
	field, edge := t.rules["wall_screw_mm"], t.rules["wall_screw_mm"]
	if t.s.Kind.Overhead() {
		field, edge = t.rules["ceiling_field_mm"], t.rules["ceiling_edge_mm"]
	}
	n := t.area/(t.spacing(frameOf(supportOf(t.s, l)))/1000*field/1000) + t.edge/(edge/1000)
	t.item(TakeOffItem{Group: GroupScrews, Item: name, Layer: l.N, Quantity: math.Ceil(n*(1+t.rules["spare"]) - 1e-9), Unit: "piece", Net: math.Ceil(n - 1e-9), NetUnit: "piece"})
}

// edges counts what closes the edge: sealant round every board of a lining, a strip round a floating floor.
func (t *takeOff) edges() {
	var depth float64
	mat := false
	for _, l := range t.s.Layers {
		if isLiningBoard(t.s, l) {
			depth += l.Now.ThicknessMM()
		}
		mat = mat || l.Now.Role() == acoustics.RoleResilient
	}
	if ml := t.edge * t.rules["seal_gap_mm"] * depth; ml > 0 {
		t.item(TakeOffItem{Group: GroupSealing, Item: "acoustic sealant, tube of " + trim(t.rules["tube_ml"]) + " ml", Quantity: math.Ceil(ml*(1+t.rules["spare"])/t.rules["tube_ml"] - 1e-9), Unit: "tube",
			Net: ml, NetUnit: "ml"})
	}
	if isFloor(t.s) && mat {
		t.item(TakeOffItem{Group: GroupSealing, Item: "edge strip", Quantity: t.edge * (1 + t.rules["spare"]), Unit: "m", Net: t.edge, NetUnit: "m"})
	}
}
