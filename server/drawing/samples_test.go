package drawing

// Sections that the tests and the golden pictures share: an invented ceiling, wall, floor, stack and pipe.

func livingCeiling() Section {
	return Section{Kind: Ceiling, Code: "C1", Title: "living ceiling", Answer: "Layer 5 may go on. Screw 50 mm.", Room: "R1 living room",
		Existing: []Slab{
			{Name: "floor boards", ThicknessMM: 22, Hatch: Timber},
			{Name: "joists 175 x 50 at 400", ThicknessMM: 175, Hatch: Air, Frame: Joist},
		},
		Layers: []Slab{
			{Number: 1, Name: "mineral wool", ThicknessMM: 100, Hatch: Wool, State: Accepted, Within: 2},
			{Number: 2, Name: "clip and channel", ThicknessMM: 41, Hatch: Air, State: Covered, Resilient: ResilientClip},
			{Number: 3, Name: "acoustic board", ThicknessMM: 15, Hatch: DenseBoard, State: CoveredUnseen},
			{Number: 4, Name: "membrane", ThicknessMM: 2.5, Hatch: Membrane, State: Installed},
			{Number: 5, Name: "acoustic board", ThicknessMM: 15, Hatch: DenseBoard, State: Specified},
		}}
}

func partyWall() Section {
	return Section{Kind: Wall, Code: "W1", Title: "party wall", Answer: "Do not cover: 2 checks open.", Room: "R1 living room",
		Existing: []Slab{{Name: "brick", ThicknessMM: 300, Hatch: Masonry}, {Name: "plaster", ThicknessMM: 15, Hatch: Plaster}},
		Layers: []Slab{
			{Number: 1, Name: "stud and wool, 15 mm clear", ThicknessMM: 65, Hatch: Air, State: Covered, Frame: Independent,
				Fill: &Fill{ThicknessMM: 50, Missing: 0.15}, Defects: []Defect{{Kind: Bridge, Words: "screw touches the wall at the bay"}}},
			{Number: 2, Name: "standard board", ThicknessMM: 15, Hatch: Board, State: ToPutRight,
				Defects: []Defect{{Kind: OpenEdge, Words: "perimeter open 3 mm over 1.2 m at the floor"}}},
			{Number: 3, Name: "membrane", ThicknessMM: 2.5, Hatch: Membrane, State: PartInstalled, Share: 0.6},
			{Number: 4, Name: "acoustic board", ThicknessMM: 15, Hatch: DenseBoard, State: Delivered},
		}}
}

func platformFloor() Section {
	return Section{Kind: Floor, Code: "F1", Title: "floor above", Room: "flat 7c, bedroom",
		Existing: []Slab{{Name: "joists 175 x 50", ThicknessMM: 175, Hatch: Air, Frame: Joist, Fill: &Fill{ThicknessMM: 60, Loose: true}},
			{Name: "floor boards", ThicknessMM: 22, Hatch: Timber}},
		Layers: []Slab{
			{Number: 1, Name: "resilient mat", ThicknessMM: 16, Hatch: Mat, State: Installed},
			{Number: 2, Name: "deck", ThicknessMM: 18, Hatch: Timber, State: Disputed},
		}}
}

func stackBoxing() Section {
	return Section{Kind: Boxing, Code: "X1", Title: "soil stack boxing", Room: "R2 bathroom",
		Layers: []Slab{
			{Number: 1, Name: "lagging", ThicknessMM: 25, Hatch: Wool, State: Covered},
			{Number: 2, Name: "inner board", ThicknessMM: 15, Hatch: DenseBoard, State: CoveredUnseen},
			{Number: 3, Name: "outer board", ThicknessMM: 15, Hatch: DenseBoard, State: Installed},
		}}
}

func wrappedPipe() Section {
	return Section{Kind: PipeRun, Code: "P1", Title: "waste pipe", Room: "R2 bathroom",
		Existing: []Slab{{Name: "plastic pipe wall", ThicknessMM: 3.2, Hatch: Metal}},
		Layers: []Slab{
			{Number: 1, Name: "foam", ThicknessMM: 20, Hatch: Mat, State: Installed},
			{Number: 2, Name: "heavy wrap", ThicknessMM: 3, Hatch: Membrane, State: ToPutRight,
				Defects: []Defect{{Kind: OpenEdge, Words: "joint not taped, 20 mm"}}},
		}}
}

func wrappedBeam() Section {
	return Section{Kind: Beam, Code: "B1", Title: "steel over the bay", Room: "R1 living room",
		Layers: []Slab{
			{Number: 1, Name: "wool", ThicknessMM: 50, Hatch: Wool, State: Installed},
			{Number: 2, Name: "fire board", ThicknessMM: 15, Hatch: DenseBoard, State: Specified},
		}}
}

func twelveLayers() Section {
	s := Section{Kind: Wall, Code: "W9", Title: "studio wall", Answer: "Everything is in dispute.", Key: true,
		Room:     "the recording room on the second floor, north, behind the stair",
		Existing: []Slab{{Name: "concrete", ThicknessMM: 200, Hatch: Concrete}, {Name: "glass", ThicknessMM: 6, Hatch: Glass}, {Name: "screed", ThicknessMM: 50, Hatch: Screed}}}
	hatch := []Hatch{Mat, Board, Membrane, Wool, DenseBoard, Metal, Timber, Plaster, Screed, Glass, Air, Board}
	for i, h := range hatch {
		s.Layers = append(s.Layers, Slab{Number: i + 1, Name: "a layer whose name is as long as sixty letters can make it, yes", ThicknessMM: 2.5 * float64(1+i%5),
			Hatch: h, State: Disputed})
	}
	return s
}

func emptySurface() Section { return Section{Kind: Wall, Code: "W2", Title: "return wall"} }

func oneLayer() Section {
	return Section{Kind: Soffit, Code: "S1", Title: "stair soffit", Room: "hall below",
		Existing: []Slab{{Name: "timber stair", ThicknessMM: 38, Hatch: Timber}},
		Layers:   []Slab{{Number: 1, Name: "board", ThicknessMM: 12.5, Hatch: Board, State: Ready}}}
}
