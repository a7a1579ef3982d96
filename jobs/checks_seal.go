package jobs

import "tacet/acoustics"

// Seals at the perimeter: worth more than any layer.

var _ = registerCheck(CheckRule{
	Code: "K23", Stage: "boards", Drawn: DrawnOpenEdge, Title: "Perimeter sealed",
	Accept: "The perimeter of this board is sealed to its full depth before the next layer goes on.",
	How:    "Look, finger, torch.", Photo: "V, all round",
	Fault:    "A leak round the edge of the board; what it costs depends on its width and length.",
	Stop:     true,
	Layer:    isInnerBoard,
	Measures: []Measure{{Key: "gap_mm", Name: "width of the gap", Range: acoustics.Range{Min: 0, Max: 100, Unit: "mm"}}, {Key: "length_m", Name: "length", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m"}}},
	Defect:   openPerimeter,
	Suspect:  1,
})

var _ = registerCheck(CheckRule{
	Code: "K28", Stage: "final seal", Drawn: DrawnOpenEdge, Title: "Last perimeter sealed",
	Accept: "The last perimeter is sealed, the gap 3 to 5 mm, no filler or plaster across it, and still soft after curing.",
	How:    "Finger, after 24 h.", Photo: "V",
	Fault:    "A hard bridge, or a leak.",
	Stop:     true,
	Layer:    isLastBoard,
	Measures: []Measure{{Key: "gap_mm", Name: "width of the gap", Range: acoustics.Range{Min: 0, Max: 100, Unit: "mm"}, Passes: between(3, 5)}, {Key: "length_m", Name: "length", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m"}}},
	Defect:   openPerimeter,
	Suspect:  2,
})

var _ = registerCheck(CheckRule{
	Code: "K29", Stage: "final seal", Title: "Plaster does not bridge",
	Accept: "Plaster, skim and coving do not tie the lining to the walls.",
	How:    "Knife cut.", Photo: "C",
	Fault: "A bridge.",
	Whole: isWallOrCeiling,
})

var _ = registerCheck(CheckRule{
	Code: "K30", Stage: "final seal", Title: "Skirting on one side",
	Accept: "Skirting is fixed to lining or wall, not both, 2 to 3 mm clear of a floating floor, and sealed.",
	How:    "A card under it.", Photo: "C",
	Fault:    "Footsteps go down the wall.",
	Whole:    isWallOrFloor,
	Measures: []Measure{{Key: "clear_mm", Name: "clear gap", Range: acoustics.Range{Min: 0, Max: 500, Unit: "mm"}}},
})

var _ = registerCheck(CheckRule{
	Code: "K31", Stage: "boxes", Title: "Boxes airtight",
	Accept: "Boxes are airtight or have a pad, and are sealed to the board.",
	How:    "Look.", Photo: "C",
	Fault: "A leak.",
	Whole: isWallOrCeiling,
})
