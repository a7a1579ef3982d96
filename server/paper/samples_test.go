package paper

import (
	"fmt"
	"strings"
	"time"

	"tacet/server/drawing"
)

// Sheets that the tests share; the firm, the people and the house are invented.

var printed = time.Date(2026, 11, 25, 8, 30, 0, 0, time.UTC)

func ceilingSheet() Sheet {
	return Sheet{
		Firm: "Quillmarsh Linings", Job: "7b Lantern Row, living room and hall", Site: "7b Lantern Row, Marlsea", Room: "R1 living room",
		Surface: "C1", Name: "Living ceiling", Kind: "ceiling", Size: "4.2 m × 3.6 m, 15.12 m²",
		Printed: printed, Version: "entry 128", Code: "7KQ2-M4XR-9TBA-P", URL: Payload("https://office.example.org", "7KQ2-M4XR-9TBA-P"),
		Section: drawing.Section{Kind: drawing.Ceiling, Code: "C1", Title: "living ceiling", Room: "R1 living room",
			Existing: []drawing.Slab{
				{Name: "floor boards", ThicknessMM: 22, Hatch: drawing.Timber},
				{Name: "joists 175 x 50 at 400", ThicknessMM: 175, Hatch: drawing.Air, Frame: drawing.Joist},
			},
			Layers: []drawing.Slab{
				{Number: 1, Name: "mineral wool", ThicknessMM: 100, Hatch: drawing.Wool, State: drawing.Accepted, Within: 2},
				{Number: 2, Name: "clip and channel", ThicknessMM: 41, Hatch: drawing.Air, State: drawing.Covered, Resilient: drawing.ResilientClip},
				{Number: 3, Name: "acoustic board", ThicknessMM: 15, Hatch: drawing.DenseBoard, State: drawing.CoveredUnseen},
				{Number: 4, Name: "membrane", ThicknessMM: 2.5, Hatch: drawing.Membrane, State: drawing.Installed},
				{Number: 5, Name: "acoustic board", ThicknessMM: 15, Hatch: drawing.DenseBoard, State: drawing.Specified},
			}},
		Layers: []Layer{
			{N: 1, What: "Mineral wool between the joists, 45 kg/m³", ThicknessMM: 100, MassKgM2: 4.5, State: "accepted"},
			{N: 2, What: "Clip and channel, 25 mm clear", ThicknessMM: 41, MassKgM2: 2, State: "covered"},
			{N: 3, What: "Acoustic board", ThicknessMM: 15, MassKgM2: 12.6, State: "covered unseen", Screw: &Screw{MinMM: 25, MaxMM: 37, StockMM: 32}},
			{N: 4, What: "Membrane", ThicknessMM: 2.5, MassKgM2: 5, State: "installed"},
			{N: 5, What: "Acoustic board", ThicknessMM: 15, MassKgM2: 12.6, State: "specified", Screw: &Screw{MinMM: 42.5, MaxMM: 54.5, StockMM: 50}},
		},
		Totals: Totals{MassKgM2: 36.7, ThicknessMM: 73.5, ThicknessLimitMM: 90, LoadKNM2: 0.36, LoadLimitKNM2: 0.70,
			LoadNote: "With F1 on the same joists 0.64 of 0.70 kN/m²."},
		Checks: []Check{
			{Code: "K16", Layer: 1, Criterion: "wool type, depth, density as specified; fills at least 2/3 of the cavity, no gaps above 10 mm, not crammed",
				Measure: "depth rule, count packs used against the take-off", Photo: "wide, each bay", State: "passed"},
			{Code: "K19", Layer: 3, Criterion: "screw length within its window; note the length used", Measure: "measure 3 from the box and put one on the rule",
				Photo: "close, rule in shot", Stop: true, State: "put right"},
			{Code: "K22", Layer: 3, Criterion: "board clear of wall, floor, ceiling by 3 to 5 mm; not resting on the floor", Measure: "feeler gauge or offcut", Photo: "close"},
			{Code: "K23", Layer: 3, Criterion: "perimeter of board 1 sealed full depth before layer 2", Measure: "look, finger, torch", Photo: "along the whole edge", Stop: true,
				Values: []Value{{"width of the gap", "mm"}, {"length", "m"}}},
			{Code: "K28", Criterion: "final perimeter sealed, gap 3 to 5 mm, no filler or plaster bridging, sealant still soft after cure", Measure: "finger after 24 h",
				Photo: "along the edge", Stop: true},
		},
		Cautions: []string{
			"Fire: this ceiling separates two dwellings. Keep to the tested system and the local code; acoustic sealant is not fire sealant.",
			"Structure: the added load is limited by the engineer's letter SE-114. Stop on cracks or movement.",
			"Asbestos: presume it in textured coatings before 2000 until a sample says otherwise.",
		},
		Target:     "Target 43 dB DnT,w + Ctr.",
		Prediction: "As specified 46 dB ± 4, chance of passing 77 %. A prediction, not a promise.",
		Note:       "Stack boards along the bay wall only.",
	}
}

// fullSheet is as full as a sheet gets: twelve layers, thirty checks, names of sixty letters.
func fullSheet() Sheet {
	s := ceilingSheet()
	s.Surface, s.Code, s.URL = "W12", "ZZZZ-0000-1111-Q", ""
	s.Name = "Separating wall between the recording room and the long hall"
	s.Job = "A job with a long name that says where it is and what it is, 60"
	s.Site = "The Old Rope Works, second yard behind the chapel, Marlsea, X1 2YZ"
	s.Section.Kind, s.Section.Code, s.Layers, s.Checks, s.Section.Layers = drawing.Wall, "W12", nil, nil, nil
	s.Section.Existing = []drawing.Slab{{Name: "brick", ThicknessMM: 300, Hatch: drawing.Masonry}}
	hatches := []drawing.Hatch{drawing.Wool, drawing.Board, drawing.Membrane, drawing.DenseBoard}
	for i := 1; i <= 12; i++ {
		name := fmt.Sprintf("Layer %02d, a description as long as sixty letters will make it", i)
		s.Section.Layers = append(s.Section.Layers, drawing.Slab{Number: i, Name: name, ThicknessMM: 2.5 * float64(i), Hatch: hatches[i%4], State: drawing.Disputed})
		l := Layer{N: i, What: name, ThicknessMM: 2.5 * float64(i), MassKgM2: 1.25 * float64(i), State: "disputed"}
		if i%3 == 0 {
			l.Screw = &Screw{MinMM: 42.5, MaxMM: 45.5}
		}
		s.Layers = append(s.Layers, l)
	}
	for i := 1; i <= 30; i++ {
		s.Checks = append(s.Checks, Check{Code: fmt.Sprintf("K%02d", i), Layer: i % 13, Stop: i%4 == 0, Measure: "look along the cavity with a torch, three places",
			Photo: "wide with the surface's card, close with the rule", Criterion: fmt.Sprintf("criterion %02d: ", i) + strings.Repeat("every hole, gap and pocket is filled; ", 4)})
	}
	return s
}

func bareSheet() Sheet {
	return Sheet{Surface: "W2", Name: "Return wall", Kind: "wall", Printed: printed}
}
