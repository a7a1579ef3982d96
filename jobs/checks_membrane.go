package jobs

import "tacet/acoustics"

// Membranes between boards.

var _ = registerCheck(CheckRule{
	Code: "K25", Stage: "membrane", Title: "Membrane complete",
	Accept: "Right thickness and way round, butted within 2 mm, taped, the whole area covered, none turned up hard against a wall.",
	How:    "Count the rolls; look.", Photo: "W",
	Fault:    "The board stays undamped, and strips that are missing are mass that is missing.",
	Layer:    isMembrane,
	Measures: []Measure{{Key: "gap_mm", Name: "width of the gap", Range: acoustics.Range{Min: 0, Max: 100, Unit: "mm"}, Passes: atMost(2)}, {Key: "area_m2", Name: "area", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m²"}}},
	Defect:   missingShare,
})
