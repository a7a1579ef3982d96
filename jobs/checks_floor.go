package jobs

import "tacet/acoustics"

// Floating floors.

var _ = registerCheck(CheckRule{
	Code: "K32", Stage: "floor", Drawn: DrawnBridge, Title: "Edge strip all round",
	Accept: "The strip runs all round, at doors, pipes and columns too, and stands 4 mm proud.",
	How:    "Look; rule.", Photo: "W+C",
	Fault:    "Where the floor touches the wall, what was gained for footsteps is lost.",
	Stop:     true,
	Layer:    isFloorMat,
	Measures: []Measure{{Key: "gap_mm", Name: "width of the gap", Range: acoustics.Range{Min: 0, Max: 100, Unit: "mm"}}, {Key: "length_m", Name: "length", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m"}}},
	Suspect:  5,
})

var _ = registerCheck(CheckRule{
	Code: "K33", Stage: "floor", Drawn: DrawnBridge, Title: "Mat continuous",
	Accept: "The mat runs on, is taped, with no debris under it and no fixing through it.",
	How:    "Look.", Photo: "W",
	Fault:    "A hard bridge.",
	Layer:    isFloorMat,
	Measures: []Measure{{Key: "count", Name: "number of hard bridges", Range: acoustics.Range{Min: 0, Max: 10000}}, {Key: "area_m2", Name: "area", Range: acoustics.Range{Min: 0, Max: 1000, Unit: "m²"}}},
	Defect:   pointsFound,
})

var _ = registerCheck(CheckRule{
	Code: "K34", Stage: "floor", Drawn: DrawnBridge, Title: "Deck glued and free",
	Accept: "Tongue and groove glued, joints staggered, and no screw into a joist.",
	How:    "Sweep with a magnet.", Photo: "V",
	Fault:    "Footsteps come back.",
	Layer:    isFloorDeck,
	Measures: []Measure{{Key: "count", Name: "number of screws into a joist", Range: acoustics.Range{Min: 0, Max: 10000}}},
	Defect:   pointsFound,
})

var _ = registerCheck(CheckRule{
	Code: "K35", Stage: "floor", Title: "Deck level",
	Accept: "The deck is level and does not rock, and is rated for the load.",
	How:    "Straightedge: 3 mm in 2 m.", Photo: "C",
	Fault:    "Creaking.",
	Layer:    isFloorDeck,
	Measures: []Measure{{Key: "gap_mm", Name: "width of the gap", Range: acoustics.Range{Min: 0, Max: 100, Unit: "mm"}}},
	Defect:   noSound,
})

var _ = registerCheck(CheckRule{
	Code: "K36", Stage: "floor", Title: "Nothing stands across",
	Accept: "Threshold, pipes, radiator tails and fittings do not bridge the edge.",
	How:    "A card.", Photo: "C",
	Fault: "A path for footsteps.",
	Whole: isFloor,
})

var _ = registerCheck(CheckRule{
	Code: "K37", Stage: "finish", Title: "Floor finish",
	Accept: "The hard finish is the specified one, floating or bonded as specified.",
	How:    "Read the label.", Photo: "C",
	Fault: "Stone on top makes footsteps worse.",
	Whole: isFloor,
})
