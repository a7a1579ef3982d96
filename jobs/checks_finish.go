package jobs

import "tacet/acoustics"

// What comes after, and what goes round the surface.

var _ = registerCheck(CheckRule{
	Code: "K43", Stage: "access", Title: "Hatches",
	Accept: "Each hatch has the mass of its surface, seals on four sides and catches.",
	How:    "A card.", Photo: "C",
	Fault: "A leak.",
	Whole: isOverheadOrBoxing,
})

var _ = registerCheck(CheckRule{
	Code: "K44", Stage: "ventilation", Title: "Air still moves",
	Accept: "Fans, grilles, trickle vents and air bricks still work, or have a lined path instead.",
	How:    "Tissue.", Photo: "C",
	Fault:      "Damp; where something burns, carbon monoxide.",
	Stop:       true,
	Unmeasured: true,
	Whole:      isWallOrCeiling,
	Defect:     noSound,
})

var _ = registerCheck(CheckRule{
	Code: "K45", Stage: "door", Title: "Door",
	Accept: "The seals touch all round, the threshold drops, and the door has 25 kg/m² or Rw 29 dB where that is required.",
	How:    "Pull a sheet of paper.", Photo: "C",
	Fault: "Noise from the corridor.",
	Whole: hasOpening,
})

var _ = registerCheck(CheckRule{
	Code: "K46", Stage: "flanking", Title: "Agreed flanking work done",
	Accept: "Return wall, chimney breast or floor edge is done as specified.",
	How:    "Tape.", Photo: "W",
	Fault:    "It still comes from the side.",
	Whole:    isPlanar,
	Measures: []Measure{{Key: "length_m", Name: "length", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m"}}},
	Suspect:  7,
})

var _ = registerCheck(CheckRule{
	Code: "K49", Stage: "finish", Title: "Nothing cut in since",
	Accept: "No later trade has cut in: bracket, curtain pole, kitchen unit.",
	How:    "Walk round.", Photo: "W",
	Fault: "A bridge, or a leak.",
	Whole: isAny,
})

var _ = registerCheck(CheckRule{
	Code: "K50", Stage: "handover", Title: "Listening walk",
	Accept: "Walked and listened with the client, on both sides where possible.",
	How:    "Notes.", Photo: "-",
	Fault:      "A surprise later.",
	Unmeasured: true,
	Whole:      isAny,
})
