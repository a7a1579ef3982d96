package jobs

import (
	"slices"

	"tacet/acoustics"
)

// TakeOffInput is one surface with what the take-off may choose.
type TakeOffInput struct {
	Surface       ImportSurface      `json:"surface"`
	Sheet         *Sheet             `json:"sheet,omitempty"`
	StockScrewsMM []float64          `json:"stock_screws_mm,omitempty"`
	Waste         *float64           `json:"waste,omitempty"`
	Boxes         int                `json:"boxes,omitempty"` // socket and switch boxes, a pad each
	Rules         map[string]float64 `json:"rules,omitempty"` // changes to [TakeOffRules], by key
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
	Stacks    []TakeOffStack `json:"stacks"`
	Notes     []string       `json:"notes"`
	Defaults  []TakeOffRule  `json:"defaults"` // what was taken where nothing else was said
}

// TakeOffItem is one line of the order. Layer 0 is the surface as a whole. Net is what is needed in the work, without
// waste, laps, spares and rounding up.
type TakeOffItem struct {
	Item      string   `json:"item"`
	Layer     int      `json:"layer"`
	Quantity  float64  `json:"quantity"`
	Unit      string   `json:"unit"`
	KgEach    *float64 `json:"kg_each"`
	Kg        float64  `json:"kg"`
	M2Each    float64  `json:"m2_each"` // 0 for what is not counted by area
	Net       float64  `json:"net"`
	NetUnit   string   `json:"net_unit"`
	TwoPeople bool     `json:"two_people"` // or an aid, for each piece
	Lifter    bool     `json:"lifter"`     // fixed overhead: book a lifter
	Group     string   `json:"group"`      // one of [TakeOffGroups]
}

// The groups of material in which an order is read and delivered.
const (
	GroupBoards    = "boards"
	GroupMembranes = "membranes and tape"
	GroupWool      = "wool"
	GroupFrames    = "frames and clips"
	GroupScrews    = "screws"
	GroupSealing   = "sealing and edges"
	GroupOther     = "other layers"
	GroupTakenAway = "taken away"
)

// TakeOffGroups are the groups in the order in which they are listed.
func TakeOffGroups() []string {
	return []string{GroupBoards, GroupMembranes, GroupWool, GroupFrames, GroupScrews, GroupSealing, GroupOther, GroupTakenAway}
}

// TakeOffScrew is the window of one layer's screws.
type TakeOffScrew struct {
	Layer   int      `json:"layer"`
	MinMM   float64  `json:"min_mm"`
	MaxMM   float64  `json:"max_mm"`
	StockMM *float64 `json:"stock_mm"`
}

// TakeOffStack says how many sheets of a layer may lie on each other before a usual limit of weight or height is reached.
// What the floor of this building carries is another question.
type TakeOffStack struct {
	Layer  int     `json:"layer"`
	Sheets int     `json:"sheets_per_stack"`
	Stacks int     `json:"stacks"`
	KgM2   float64 `json:"limit_kg_m2"`
	MM     float64 `json:"limit_mm"`
	Source string  `json:"source"`
}

var defaultSheet = Sheet{WidthMM: 1200, LengthMM: 2400}

// Valid checks the surface and the choices.
func (in TakeOffInput) Valid() error {
	if err := under("surface", in.Surface.SurfaceFacts.valid()); err != nil {
		return err
	}
	if err := under("surface", validLayers("specified", in.Surface.Specified)); err != nil {
		return err
	}
	if err := under("surface", validDetails("details", in.Surface.Details, len(in.Surface.Specified))); err != nil {
		return err
	}
	if in.Surface.Specified == nil && (in.Surface.Like != "" || in.Surface.BuildUp != "") {
		return &InputError{Field: "surface.specified", Value: "missing", Hint: "a take-off needs the layers themselves"}
	}
	if err := validSheet(in.Sheet); err != nil {
		return err
	}
	if err := validStock(in.StockScrewsMM); err != nil {
		return err
	}
	if err := wholeNumber("boxes", in.Boxes, 1, 10000); err != nil {
		return err
	}
	if err := figures(in.Rules).valid("rules"); err != nil {
		return err
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
	changes := figures{}
	for key, v := range in.Rules {
		changes[key] = v
	}
	if in.Waste != nil {
		changes["waste"] = *in.Waste
	}
	t := newTakeOff(s, s.Existing, in.Boxes, rulesWith("given with the take-off", changes))
	if in.Sheet != nil {
		t.sheet = *in.Sheet
	}
	if in.StockScrewsMM != nil {
		t.stock = in.StockScrewsMM
	}
	return t.work(), nil
}

// TakeOffOf works out the order for a surface of a job, with the program's defaults.
func (j *Job) TakeOffOf(s *Surface) TakeOff { return j.TakeOffFor(Firm{}, s) }

// TakeOffFor works out the order for a surface of a job as the firm takes off.
func (j *Job) TakeOffFor(f Firm, s *Surface) TakeOff {
	var rules []TakeOffRule
	var sheet *Sheet
	stock := StockScrews
	if e := f.takeOff; e != nil {
		source := e.Source
		if source == "" {
			source = "the firm's own"
		}
		rules, sheet = rulesWith(source, e.Rules), e.Sheet
		if e.StockScrewsMM != nil {
			stock = slices.Clone(e.StockScrewsMM)
		}
	} else {
		rules = rulesWith("", nil)
	}
	t := newTakeOff(s, j.existing(s), j.Boxes(s), rules)
	t.stock = stock
	if sheet != nil {
		t.sheet = *sheet
	}
	return t.work()
}
