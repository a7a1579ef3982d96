package jobs

import "tacet/acoustics"

// The background, before anything goes on it.

var _ = registerCheck(CheckRule{
	Code: "K02", Stage: "background", Title: "Holes filled",
	Accept: "Every hole, open mortar joint, chase and joist pocket is filled.",
	How:    "Torch and smoke.", Photo: "W+C",
	Fault:    "Speech as if through a letterbox.",
	Stop:     true,
	Whole:    isPlanar,
	Measures: []Measure{{Key: "count", Name: "number of holes", Range: acoustics.Range{Min: 0, Max: 10000}}},
})

var _ = registerCheck(CheckRule{
	Code: "K03", Stage: "background", Title: "Nothing loose",
	Accept: "Lath and render are sound and nothing lies loose in the cavity.",
	How:    "Tap it.", Photo: "V",
	Fault: "Rattle, or a hard bridge.",
	Whole: isWallOrCeiling,
})

var _ = registerCheck(CheckRule{
	Code: "K04", Stage: "background", Title: "Boards screwed down",
	Accept: "Floor boards are screwed down and the gaps at the edges sealed.",
	How:    "Walk on it; look for light.", Photo: "W",
	Fault: "Creaking and leaks.",
	Whole: isFloor,
})

var _ = registerCheck(CheckRule{
	Code: "K05", Stage: "background", Title: "Dry",
	Accept: "Timber is at or below 20 % moisture and nothing leaks.",
	How:    "Moisture meter.", Photo: "C",
	Fault:    "Mould and fixings that come loose.",
	Whole:    isPlanar,
	Measures: []Measure{{Key: "moisture_percent", Name: "moisture", Range: acoustics.Range{Min: 0, Max: 100, Unit: "%"}, Passes: atMost(20)}},
	Defect:   noSound,
})
