package jobs

import "tacet/acoustics"

// Services, while they can still be seen.

var _ = registerCheck(CheckRule{
	Code: "K13", Stage: "services", Title: "Cables",
	Accept: "Cables are clipped to one side only, and where they lie in wool an electrician has allowed for it.",
	How:    "The electrician's certificate.", Photo: "C",
	Fault: "Heat and fire risk; a bridge.",
	Stop:  true,
	Whole: isWallOrCeiling,
})

var _ = registerCheck(CheckRule{
	Code: "K14", Stage: "services", Title: "Boxes not back to back",
	Accept: "No two boxes stand back to back; the offset is at least the specified one.",
	How:    "Tape.", Photo: "W",
	Fault:      "Speech comes through; wool between the boxes restores most of it.",
	Stop:       true,
	Unmeasured: true,
	Whole:      isWall,
	Measures:   []Measure{{Key: "offset_mm", Name: "offset", Range: acoustics.Range{Min: 0, Max: 5000, Unit: "mm"}}},
	Suspect:    5,
})

var _ = registerCheck(CheckRule{
	Code: "K15", Stage: "services", Title: "Nothing cut into the ceiling",
	Accept: "A separating ceiling has no recessed lights, or only the agreed number with rated hoods.",
	How:    "Count.", Photo: "W",
	Fault:    "A leak, and a breach of the fire line.",
	Whole:    isOverhead,
	Measures: []Measure{{Key: "count", Name: "number of recessed lights", Range: acoustics.Range{Min: 0, Max: 10000}}},
	Suspect:  7,
})
