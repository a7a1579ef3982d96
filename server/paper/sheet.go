// Package paper prints: the A4 site sheet of a surface, black on white, to be hung up, filled in by pen and typed back later.
// It looks like a form that a careful tradesman drew up: the surface's code large at the top, the section across the page with
// its scale, a line for each layer with room to write, the checks with boxes, and what must be seen before it is covered.
//
// Map: sheet.go what a sheet holds; write.go the pages; header.go, layers.go, checks.go, foot.go their parts; shapes.go puts a
// drawing on the page; page.go type and measures; qr.go the codes, scan.go reads them from a photo. document.go and grid.go are what the
// other papers share: pack.go the handover pack with packsurface.go, packparts.go and packplan.go, labels.go, delivery.go, survey.go, timeline.go. The same input and time give the same bytes.
package paper

import (
	"time"

	"tacet/server/drawing"
)

// Sheet is one surface as it is printed.
type Sheet struct {
	Firm    string
	Job     string
	Site    string
	Room    string
	Surface string // code, printed 24 mm high where it fits
	Name    string // living ceiling
	Kind    string // in words: ceiling, wall
	Size    string // in words with units: 4.2 m × 3.6 m, 15.12 m²

	Printed time.Time // in the zone it is to be shown in
	Version string    // of the record: what this sheet was printed from

	URL  string // HTTPS://HOST/S/CODE, see [Payload]; empty puts the bare Code into the QR
	Code string // readable code with its check character; any grouping is printed as given

	Section     drawing.Section
	Layers      []Layer
	Totals      Totals
	Checks      []Check
	BeforeCover []string // what must be seen before covering; empty takes it from the stop checks
	Cautions    []string
	Target      string // sentence: Target 43 dB DnT,w + Ctr.
	Prediction  string // sentence, with its uncertainty
	Note        string
}

// Layer is one line of the sheet.
type Layer struct {
	N           int
	What        string
	ThicknessMM float64 // 0 or less prints a dash
	MassKgM2    float64 // of what is to be fitted; 0 or less prints a dash
	State       string  // in words
	Screw       *Screw  // nil where the layer is not screwed
}

// Screw is the window of screw lengths for a layer: long enough to hold, short enough not to bridge.
type Screw struct {
	MinMM, MaxMM float64
	StockMM      float64 // the length to use; 0 when no stock length fits
}

// Totals are the sums over the added layers. A limit of 0 was not agreed, which the sheet says.
type Totals struct {
	MassKgM2         float64
	ThicknessMM      float64
	ThicknessLimitMM float64
	LoadKNM2         float64
	LoadLimitKNM2    float64
	LoadNote         string // what else hangs on the same structure: "with F1 on the same joists 0.64 of 0.70 kN/m²"
}

// Check is one check of the surface or of a layer.
type Check struct {
	Code      string
	Layer     int // 0 for the whole surface
	Criterion string
	Measure   string // how measured
	Photo     string // photo rule
	Stop      bool
	State     string // in words if already recorded; empty when open
	Values    []Value
}

// Value is something that is measured and written down: its name and its unit.
type Value struct{ Name, Unit string }
