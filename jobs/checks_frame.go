package jobs

import "tacet/acoustics"

// Frames, clips, bars and channels: what keeps the lining apart from the structure.

var _ = registerCheck(CheckRule{
	Code: "K06", Stage: "decouple", Drawn: DrawnBridge, Title: "Frame clear of the structure",
	Accept: "The clear gap to the structure is at least the specified one everywhere.",
	How:    "Rule; run a spacer along.", Photo: "C",
	Fault:    "A stud that touches carries the sound straight across; the lining may be worse than none.",
	Stop:     true,
	Layer:    isFreeFrame,
	Measures: []Measure{{Key: "clear_mm", Name: "clear gap", Range: acoustics.Range{Min: 0, Max: 500, Unit: "mm"}}},
	Suspect:  6,
})

var _ = registerCheck(CheckRule{
	Code: "K07", Stage: "decouple", Drawn: DrawnBridge, Title: "Strip under the frame",
	Accept: "The strip runs on without a break under, over and beside the frame, and no screw makes a hard contact through it.",
	How:    "Look and tug.", Photo: "C",
	Fault: "Structure-borne sound gets into the lining.",
	Layer: isFrame,
})

var _ = registerCheck(CheckRule{
	Code: "K08", Stage: "decouple", Title: "Frame centres",
	Accept: "Studs, bars or channels are at the specified centres, within 10 mm.",
	How:    "Tape, in three places.", Photo: "C",
	Fault:    "Closer is stiffer; wider sags or cracks.",
	Layer:    isFrame,
	Measures: []Measure{{Key: "spacing_mm", Name: "spacing", Range: acoustics.Range{Min: 0, Max: 2000, Unit: "mm"}}},
})

var _ = registerCheck(CheckRule{
	Code: "K09", Stage: "decouple", Drawn: DrawnBridge, Title: "Bars the right way up",
	Accept: "Bars lie the right way up and across the joists or studs, not nailed and not screwed twice through the flange.",
	How:    "Look.", Photo: "C",
	Fault:      "A bar that is upside down or squeezed is no spring.",
	Stop:       true,
	Unmeasured: true,
	Layer:      isBar,
	Suspect:    6,
})

var _ = registerCheck(CheckRule{
	Code: "K10", Stage: "decouple", Title: "Clips",
	Accept: "Number and spacing of the clips are as specified, the first within 150 mm of the end, and the load on each is within its data sheet.",
	How:    "Count and tape.", Photo: "W",
	Fault:    "Overloaded clips bottom out, too few let it sag.",
	Layer:    isClip,
	Measures: []Measure{{Key: "count", Name: "number of clips", Range: acoustics.Range{Min: 0, Max: 10000}}, {Key: "spacing_mm", Name: "spacing", Range: acoustics.Range{Min: 0, Max: 2000, Unit: "mm"}}},
})

var _ = registerCheck(CheckRule{
	Code: "K11", Stage: "decouple", Drawn: DrawnBridge, Title: "Channel ends free",
	Accept: "Channel ends stay 5 to 10 mm clear of the walls and laps lie only over a clip.",
	How:    "Feeler.", Photo: "C",
	Fault:    "A bridge at the edge.",
	Layer:    isChannel,
	Measures: []Measure{{Key: "clear_mm", Name: "clear gap", Range: acoustics.Range{Min: 0, Max: 500, Unit: "mm"}, Passes: between(5, 10)}},
})

var _ = registerCheck(CheckRule{
	Code: "K12", Stage: "decouple", Drawn: DrawnBridge, Title: "Nothing across the cavity",
	Accept: "No pipe, cable tie, noggin or rubble touches both sides.",
	How:    "Look along the cavity.", Photo: "V",
	Fault: "A bridge; ticking and humming.",
	Layer: isCavity,
})

var _ = registerCheck(CheckRule{
	Code: "K48", Stage: "clean", Title: "Cavity clean",
	Accept: "No offcut, fixing or mortar is left in the cavity.",
	How:    "Look along the cavity.", Photo: "V",
	Fault: "Rattle, or a hard bridge.",
	Layer: isCavity,
})
