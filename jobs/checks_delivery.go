package jobs

import "tacet/acoustics"

// What arrives.

var _ = registerCheck(CheckRule{
	Code: "K01", Stage: "delivery", Title: "Right material",
	Accept: "Type, thickness and mass are as specified, and it is dry.",
	How:    "Read the print on the edge, use a caliper, weigh one cut piece of known size.", Photo: "C",
	Fault:    "A lighter board is less mass, and a wrong board may not be the fire board.",
	Layer:    isBoardOrMembrane,
	Measures: []Measure{{Key: "thickness_mm", Name: "thickness", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "mm"}}, {Key: "mass_kg_m2", Name: "weighed mass", Range: acoustics.Range{Min: 0, Max: 3000, Unit: "kg/m²"}}},
	Defect:   weighedMaterial,
})
