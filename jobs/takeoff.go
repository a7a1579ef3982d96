package jobs

import (
	"fmt"
	"math"

	"tacet/acoustics"
)

// TakeOffInput is one surface with what the take-off may choose.
type TakeOffInput struct {
	Surface       ImportSurface `json:"surface"`
	Sheet         *Sheet        `json:"sheet,omitempty"`
	StockScrewsMM []float64     `json:"stock_screws_mm,omitempty"`
	Waste         *float64      `json:"waste,omitempty"`
}

// Sheet is the size of a board as delivered.
type Sheet struct {
	WidthMM  float64 `json:"width_mm"`
	LengthMM float64 `json:"length_mm"`
}

// AreaM2 is the area of one sheet.
func (s Sheet) AreaM2() float64 { return s.WidthMM * s.LengthMM / 1e6 }

// TakeOff is what has to be ordered for a surface, with its weights.
type TakeOff struct {
	Items     []TakeOffItem  `json:"items"`
	KgTotal   float64        `json:"kg_total"`
	Screws    []TakeOffScrew `json:"screws"`
	AddedLoad float64        `json:"added_load_kn_m2"`
	ClipLoad  *float64       `json:"clip_load_kg"` // on an inner clip; compare with its data sheet
	Notes     []string       `json:"notes"`
}

// TakeOffItem is one line of the order. Layer 0 is the surface as a whole.
type TakeOffItem struct {
	Item     string   `json:"item"`
	Layer    int      `json:"layer"`
	Quantity float64  `json:"quantity"`
	Unit     string   `json:"unit"`
	KgEach   *float64 `json:"kg_each"`
	Kg       float64  `json:"kg"`
}

// TakeOffScrew is the window of one layer's screws.
type TakeOffScrew struct {
	Layer   int      `json:"layer"`
	MinMM   float64  `json:"min_mm"`
	MaxMM   float64  `json:"max_mm"`
	StockMM *float64 `json:"stock_mm"`
}

// Quantities that the trade takes where nothing else is said. Common practice, no source; a data sheet governs.
const (
	defaultWaste     = 0.10 // rooms; small or angled ones need more
	membraneLaps     = 0.05
	spareFixings     = 0.10
	clipPitchMM      = 1200 // at most, along the channel
	defaultSpacingMM = 600
	ceilingFieldMM   = 230 // screw centres overhead
	ceilingEndMM     = 150 // at board ends and edges overhead
	wallScrewMM      = 300
	sealGapMM        = 5
	tubeML           = 900
	// What one person should not carry, and what is fixed overhead with a lifter.
	onePersonKg = 20
)

var defaultSheet = Sheet{WidthMM: 1200, LengthMM: 2400}

// Valid checks the surface and the choices.
func (in TakeOffInput) Valid() error {
	if err := under("surface", in.Surface.SurfaceFacts.valid()); err != nil {
		return err
	}
	if err := under("surface", validLayers("specified", in.Surface.Specified)); err != nil {
		return err
	}
	if in.Sheet != nil {
		size := acoustics.Range{Min: 100, Max: 10000, Unit: "mm"}
		if err := size.Check("sheet.width_mm", in.Sheet.WidthMM); err != nil {
			return err
		}
		if err := size.Check("sheet.length_mm", in.Sheet.LengthMM); err != nil {
			return err
		}
	}
	for i, mm := range in.StockScrewsMM {
		if err := (acoustics.Range{Min: 5, Max: 500, Unit: "mm"}).Check("stock_screws_mm["+itoa(i)+"]", mm); err != nil {
			return err
		}
	}
	return optional(acoustics.Range{Min: 0, Max: 1}, "waste", in.Waste)
}

// TakeOff works out the order for one surface.
func (in TakeOffInput) TakeOff() (TakeOff, error) {
	if err := in.Valid(); err != nil {
		return TakeOff{}, err
	}
	s := &Surface{SurfaceFacts: in.Surface.SurfaceFacts, Specified: in.Surface.Specified}
	for i, l := range s.Specified {
		s.Layers = append(s.Layers, &Layer{N: i + 1, Specified: l, Now: l})
	}
	t := takeOff{s: s, sheet: defaultSheet, waste: defaultWaste, stock: StockScrews, area: s.NetAreaM2(), edge: s.PerimeterM()}
	if in.Sheet != nil {
		t.sheet = *in.Sheet
	}
	if in.Waste != nil {
		t.waste = *in.Waste
	}
	if in.StockScrewsMM != nil {
		t.stock = in.StockScrewsMM
	}
	return t.work(), nil
}

// TakeOffOf works out the order for a surface of a job, with the firm's defaults.
func (j *Job) TakeOffOf(s *Surface) TakeOff {
	t := takeOff{s: s, sheet: defaultSheet, waste: defaultWaste, stock: StockScrews, area: s.NetAreaM2(), edge: s.PerimeterM()}
	return t.work()
}

type takeOff struct {
	s          *Surface
	sheet      Sheet
	waste      float64
	stock      []float64
	area, edge float64
	out        TakeOff
}

func (t *takeOff) work() TakeOff {
	t.out = TakeOff{Items: []TakeOffItem{}, Screws: []TakeOffScrew{}, Notes: []string{}}
	if t.area == 0 {
		t.out.Notes = append(t.out.Notes, "the area is not known: give the girth")
	}
	sealed := 0
	var depth float64
	for _, l := range t.s.Layers {
		switch {
		case workOnExisting(l.Specified) > 0:
			t.woolInside(l)
		case isBoard(l):
			t.boards(l)
			t.screws(l)
			if isLiningBoard(t.s, l) {
				sealed++
				depth += l.Now.ThicknessMM()
			}
		case l.Now.Role() == acoustics.RoleLimp:
			t.byArea(l, NameOf(l.Now), 1+membraneLaps)
		case isCavity(t.s, l):
			t.cavity(l)
		default:
			t.byArea(l, NameOf(l.Now), 1+t.waste)
		}
	}
	if sealed > 0 {
		ml := t.edge * sealGapMM * depth
		t.item("acoustic sealant, tube of 900 ml", 0, math.Ceil(ml*(1+spareFixings)/tubeML-1e-9), "tube", nil, 0)
	}
	if isFloor(t.s) && t.hasMat() {
		t.item("edge strip", 0, t.edge*(1+spareFixings), "m", nil, 0)
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
	t.out.Notes = append(t.out.Notes, "weights and loads are calculated, not judged: manual handling and what a floor carries are for who answers for them on site")
	return t.out
}

func (t *takeOff) hasMat() bool {
	for _, l := range t.s.Layers {
		if l.Now.Role() == acoustics.RoleResilient {
			return true
		}
	}
	return false
}

func (t *takeOff) item(name string, layer int, quantity float64, unit string, each *float64, kg float64) {
	t.out.Items = append(t.out.Items, TakeOffItem{Item: name, Layer: layer, Quantity: round(quantity), Unit: unit, KgEach: each, Kg: round(kg)})
}

// boards rounds up per layer: joints do not carry across, and what is cut off one layer is waste.
func (t *takeOff) boards(l *Layer) {
	n := math.Ceil(t.area*(1+t.waste)/t.sheet.AreaM2() - 1e-9)
	each := round(t.sheet.AreaM2() * l.Now.MassKgM2())
	t.item(NameOf(l.Now)+fmt.Sprintf(", sheet %s x %s mm", trim(t.sheet.WidthMM), trim(t.sheet.LengthMM)), l.N, n, "sheet", &each, n*each)
	if each > onePersonKg {
		aid := "two people or an aid for each sheet"
		if t.s.Kind.Overhead() {
			aid = "two people and a lifter: it is fixed overhead"
		}
		t.out.Notes = append(t.out.Notes, fmt.Sprintf("layer %d: a sheet weighs %.0f kg: %s", l.N, each, aid))
	}
}

func (t *takeOff) byArea(l *Layer, name string, factor float64) {
	q := t.area * factor
	t.item(name, l.N, q, "m²", nil, q*l.Now.MassKgM2())
}

// woolInside counts the wool between existing timbers: the area less what the timbers take.
func (t *takeOff) woolInside(l *Layer) {
	fill, ok := l.Now.Element.(FillExisting)
	if !ok {
		t.item(NameOf(l.Now), l.N, t.area, "m²", nil, 0)
		return
	}
	t.item("wool "+trim(fill.Fill.ThicknessMM)+" mm, "+trim(fill.Fill.DensityKgM3)+" kg/m³", l.N, t.area, "m²", nil, t.area*fill.MassKgM2())
}

// cavity counts channel, clips, studs and wool of a framed or empty cavity.
func (t *takeOff) cavity(l *Layer) {
	c := l.Now.Element.(acoustics.Cavity)
	if c.Fill != nil {
		q := t.area
		t.item("wool "+trim(c.Fill.ThicknessMM)+" mm, "+trim(c.Fill.DensityKgM3)+" kg/m³", l.N, q, "m²", nil, q*c.Fill.DensityKgM3*c.Fill.ThicknessMM/1000)
	}
	f := frameOf(l)
	if f == nil || t.s.Kind.Along() {
		return
	}
	spacing := float64(defaultSpacingMM)
	if f.SpacingMM != nil {
		spacing = *f.SpacingMM
	}
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
		name = words(f.Kind)
	}
	t.item(name, l.N, runs*along, "m", nil, mass)
	if f.Resilient != "clip" {
		return
	}
	perRun := math.Ceil(along*1000/clipPitchMM-1e-9) + 1
	t.item("clip", l.N, runs*perRun, "piece", nil, 0)
	var hung float64
	for _, o := range t.s.Layers[l.N-1:] {
		hung += o.Now.MassKgM2()
	}
	load := round(spacing / 1000 * along / (perRun - 1) * hung)
	t.out.ClipLoad = &load
	t.out.Notes = append(t.out.Notes, fmt.Sprintf("an inner clip carries %.1f kg; compare with its data sheet", load))
}

// screws counts the screws of a board: the field by the area that one holds, and the edges.
func (t *takeOff) screws(l *Layer) {
	w, ok := t.s.ScrewWindow(l)
	if !ok {
		return
	}
	line := TakeOffScrew{Layer: l.N, MinMM: w.MinMM, MaxMM: w.MaxMM}
	name := "screw, no stock length fits"
	for _, mm := range t.stock {
		if mm >= w.MinMM && mm <= w.MaxMM && (line.StockMM == nil || mm < *line.StockMM) {
			line.StockMM = &mm
			name = "screw " + trim(mm) + " mm"
		}
	}
	if line.StockMM == nil {
		t.out.Notes = append(t.out.Notes, fmt.Sprintf("layer %d: no stock screw fits the window %s to %s mm", l.N, trim(w.MinMM), trim(w.MaxMM)))
	}
	t.out.Screws = append(t.out.Screws, line)
	spacing := float64(defaultSpacingMM)
	if f := frameOf(supportOf(t.s, l)); f.SpacingMM != nil {
		spacing = *f.SpacingMM
	}
	field, edge := float64(wallScrewMM), float64(wallScrewMM)
	if t.s.Kind.Overhead() {
		field, edge = ceilingFieldMM, ceilingEndMM
	}
	n := t.area/(spacing/1000*field/1000) + t.edge/(edge/1000)
	t.item(name, l.N, math.Ceil(n*(1+spareFixings)-1e-9), "piece", nil, 0)
}
