package drawing

import "math"

// Legend says how the materials and states of the sections are drawn: a swatch and a word each, in rows as wide as the page.
// It lists only what the sections use, so that a first look has no more to learn than it needs.
func Legend(width int, sections ...Section) []byte {
	shapes, height := legendShapes(math.Max(narrowest, float64(width)), sections)
	return picture{width: math.Max(narrowest, float64(width)), height: height, shapes: shapes, title: "How materials and states are drawn.",
		class: "drawing-legend"}.svg()
}

// inOrder are the materials in the order a legend shows them, then the states.
var (
	hatchesInOrder = []Hatch{Masonry, Concrete, Timber, Plaster, Screed, Glass, Board, DenseBoard, Wool, LooseFill, Membrane, Mat, Metal, Air}
	statesInOrder  = []State{Specified, Delivered, PartInstalled, Installed, Ready, Accepted, Covered, CoveredUnseen, ToPutRight, Disputed}
)

func legendShapes(width float64, sections []Section) ([]Shape, float64) {
	hatchUsed, stateUsed := map[Hatch]bool{}, map[State]bool{}
	for _, s := range sections {
		for _, slab := range append(append([]Slab(nil), s.Existing...), s.Layers...) {
			hatchUsed[slab.Hatch] = true
			stateUsed[slab.State] = true
			if slab.Fill != nil && slab.Fill.Loose {
				hatchUsed[LooseFill] = true
			} else if slab.Fill != nil {
				hatchUsed[Wool] = true
			}
		}
	}
	l := &layout{width: width, size: 12.5}
	const wide, high, row = 34.0, 16.0, 30.0
	cell := wide + endStrip + 16 + textWidth("to be put right", l.size, false)
	columns := math.Max(1, math.Floor((width-2*margin)/cell))
	n := 0.0
	swatch := func(slab Slab, words string) {
		x, y := margin+math.Mod(n, columns)*cell, margin+math.Floor(n/columns)*row
		pen{straight{Point{x, y}, Point{0, 1}, Point{1, 0}, wide}, words, &l.shapes}.draw(band{slab: slab, id: words, from: 0, to: high})
		l.words(RoleLabel, Point{x + wide + endStrip + 2, y + 12}, Start, Ink, false, words)
		n++
	}
	for _, h := range hatchesInOrder {
		if hatchUsed[h] {
			swatch(Slab{Hatch: h, ThicknessMM: 1}, h.Words())
		}
	}
	for _, s := range statesInOrder {
		if stateUsed[s] {
			swatch(Slab{Hatch: Board, ThicknessMM: 1, State: s, Share: 0.6}, s.Words())
		}
	}
	return l.shapes, margin + math.Ceil(n/columns)*row
}
