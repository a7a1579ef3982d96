package jobs

import "tacet/acoustics"

// Boards.

var _ = registerCheck(CheckRule{
	Code: "K19", Stage: "boards", Drawn: DrawnBridge, Title: "Screw length",
	Accept: "The screw length is within the window of this layer; the length used is written down.",
	How:    "Measure three from the box; put one on the rule.", Photo: "C",
	Fault:    "A screw that reaches the joist or the structure is a bridge each time.",
	Stop:     true,
	Layer:    isScrewed,
	Measures: []Measure{{Key: "screw_mm", Name: "screw length", Range: acoustics.Range{Min: 0, Max: 300, Unit: "mm"}, Passes: inScrewWindow}, {Key: "count", Name: "number of screws", Range: acoustics.Range{Min: 0, Max: 10000}}},
	Defect:   pointsFound,
	Suspect:  3,
})

var _ = registerCheck(CheckRule{
	Code: "K20", Stage: "boards", Title: "Screw spacing",
	Accept: "Ceilings at most 230 mm, 150 mm at board ends; walls 300 mm, 200 mm at corners; 10 mm from a bound edge, 13 mm from a cut one; heads set.",
	How:    "Tape over 1 m², twice.", Photo: "C",
	Fault:    "A loose board buzzes; a ceiling may fall.",
	Layer:    isScrewed,
	Measures: []Measure{{Key: "spacing_mm", Name: "spacing", Range: acoustics.Range{Min: 0, Max: 2000, Unit: "mm"}, Passes: atScrewSpacing}},
})

var _ = registerCheck(CheckRule{
	Code: "K21", Stage: "boards", Drawn: DrawnBridge, Title: "Push test",
	Accept: "The board gives a little and evenly, and knocks alike everywhere.",
	How:    "By hand.", Photo: "V",
	Fault:    "A hard spot is a bridge.",
	Layer:    isSprungBoard,
	Measures: []Measure{{Key: "count", Name: "number of hard spots", Range: acoustics.Range{Min: 0, Max: 10000}}},
	Defect:   pointsFound,
	Suspect:  4,
})

var _ = registerCheck(CheckRule{
	Code: "K22", Stage: "boards", Drawn: DrawnBridge, Title: "Board clear at its edges",
	Accept: "The board stays 3 to 5 mm clear of wall, floor and ceiling and does not stand on the floor.",
	How:    "Feeler or offcut.", Photo: "C",
	Fault:    "A bridge at the edge.",
	Layer:    isLiningBoard,
	Measures: []Measure{{Key: "gap_mm", Name: "width of the gap", Range: acoustics.Range{Min: 0, Max: 100, Unit: "mm"}, Passes: between(3, 5)}},
})

var _ = registerCheck(CheckRule{
	Code: "K24", Stage: "boards", Title: "Cut-outs tight",
	Accept: "Cut-outs are tight and sealed.",
	How:    "Feeler of 5 mm.", Photo: "C",
	Fault:    "A leak.",
	Layer:    isLiningBoard,
	Measures: []Measure{{Key: "gap_mm", Name: "width of the gap", Range: acoustics.Range{Min: 0, Max: 100, Unit: "mm"}}, {Key: "length_m", Name: "length", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m"}}},
	Defect:   openCutOut,
})

var _ = registerCheck(CheckRule{
	Code: "K26", Stage: "boards", Title: "Joints staggered",
	Accept: "Joints are staggered from the layer below by the specified measure both ways.",
	How:    "Mark the joints below on wall or floor before covering them, then measure.", Photo: "W with the marks",
	Fault:    "Joints in line are a line of leaks.",
	Layer:    isLaterBoard,
	Measures: []Measure{{Key: "offset_mm", Name: "offset", Range: acoustics.Range{Min: 0, Max: 5000, Unit: "mm"}}},
})

var _ = registerCheck(CheckRule{
	Code: "K27", Stage: "boards", Title: "Right board",
	Accept: "The board is the specified type, with the fire letter where one is required.",
	How:    "Read the print on the edge.", Photo: "C",
	Fault:    "Less mass than promised, and a breach of the fire line.",
	Layer:    isLaterBoard,
	Measures: []Measure{{Key: "mass_kg_m2", Name: "weighed mass", Range: acoustics.Range{Min: 0, Max: 3000, Unit: "kg/m²"}}},
	Defect:   weighedMaterial,
})
