package jobs

import "tacet/acoustics"

// Pipes, boxings and steel.

var _ = registerCheck(CheckRule{
	Code: "K38", Stage: "wrap", Title: "Wrap complete",
	Accept: "The pipe is wrapped all along, bends and clips included, joints taped, no bare bracket.",
	How:    "By hand.", Photo: "W+C",
	Fault:    "The rush of water is heard.",
	Layer:    isFirstOnPipe,
	Measures: []Measure{{Key: "length_m", Name: "length", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m"}}},
})

var _ = registerCheck(CheckRule{
	Code: "K39", Stage: "wrap", Drawn: DrawnBridge, Title: "Steel kept free",
	Accept: "No screw or board touches the steel, wool lies round it, and the frame stands free.",
	How:    "A card.", Photo: "C",
	Fault: "Footsteps ring along the steel.",
	Layer: isFirstOnBeam,
})

var _ = registerCheck(CheckRule{
	Code: "K41", Stage: "boxing", Title: "Boxing heavy and lined",
	Accept: "The boxing has at least 15 kg/m², is lined with 25 mm of wool, and is sealed at top and bottom.",
	How:    "Read the print on the edge.", Photo: "C",
	Fault:    "Waste water and speech between floors.",
	Layer:    isBoxingBoard,
	Measures: []Measure{{Key: "mass_kg_m2", Name: "weighed mass", Range: acoustics.Range{Min: 0, Max: 3000, Unit: "kg/m²"}, Passes: atLeast(15)}},
})
