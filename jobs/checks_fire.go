package jobs

import "tacet/acoustics"

// Fire. The program asks whether it was done by who may do it; it does not say that it is right.

var _ = registerCheck(CheckRule{
	Code: "K40", Stage: "fire", Title: "Fire stopping",
	Accept: "Collar and seal were fitted by a competent installer, with label and record number.",
	How:    "The installer's certificate.", Photo: "C",
	Fault:      "Fire spreads.",
	Stop:       true,
	Unmeasured: true,
	Whole:      isBoxingOrPipe,
})

var _ = registerCheck(CheckRule{
	Code: "K42", Stage: "fire", Title: "Fire boards complete",
	Accept: "Fire-rated board is complete near services and penetrations, no offcuts of another kind, sealant rated where it has to be.",
	How:    "Read the print on the edge of each patch.", Photo: "C",
	Fault:    "Fire spreads, and insurance may fail.",
	Stop:     true,
	OfBoards: true,
	Whole:    isFireLine,
	Measures: []Measure{{Key: "count", Name: "number of patches", Range: acoustics.Range{Min: 0, Max: 10000}}},
})
