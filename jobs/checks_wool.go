package jobs

import "tacet/acoustics"

// Wool.

var _ = registerCheck(CheckRule{
	Code: "K16", Stage: "absorb", Drawn: DrawnMissingFill, Title: "Wool complete",
	Accept: "Type, depth and density are as specified; it fills at least two thirds of the cavity, with no gap above 10 mm and nothing crammed.",
	How:    "Depth rule; count the packs used.", Photo: "W, each bay",
	Fault:    "The cavity booms; crammed wool can bridge.",
	Layer:    isWool,
	Measures: []Measure{{Key: "depth_mm", Name: "depth", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "mm"}}, {Key: "area_m2", Name: "area", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m²"}}},
	Defect:   missingShare,
	Suspect:  8,
})

var _ = registerCheck(CheckRule{
	Code: "K17", Stage: "absorb", Title: "Wool behind boxes and at edges",
	Accept: "Wool lies behind boxes, along the edges and above pipes.",
	How:    "Look.", Photo: "C",
	Fault: "A local leak.",
	Layer: isWool,
})

var _ = registerCheck(CheckRule{
	Code: "K18", Stage: "absorb", Title: "Air paths left open",
	Accept: "Eaves, joist ends and air bricks are not blocked.",
	How:    "Look.", Photo: "C",
	Fault:  "Damp.",
	Whole:  worksOnExisting,
	Defect: noSound,
})
