package drawing_test

import (
	"fmt"

	"tacet/server/drawing"
)

func ExampleSection() {
	s := drawing.Section{
		Kind: drawing.Wall, Code: "W1", Title: "party wall", Answer: "Layer 2 may go on.", Room: "living room",
		Existing: []drawing.Slab{{Name: "brick", ThicknessMM: 225, Hatch: drawing.Masonry}},
		Layers: []drawing.Slab{
			{Number: 1, Name: "stud, 15 mm clear", ThicknessMM: 65, Hatch: drawing.Air, State: drawing.Accepted, Frame: drawing.Independent,
				Fill: &drawing.Fill{ThicknessMM: 50}},
			{Number: 2, Name: "acoustic board", ThicknessMM: 15, Hatch: drawing.DenseBoard, State: drawing.Delivered},
		},
	}
	fmt.Println(s.TitleWords())
	fmt.Println(s.DescWords())
	fmt.Println(len(s.SVG(320)) > 0)
	// Output:
	// Layer 2 may go on. Wall W1, party wall in section.
	// From the existing structure outward: existing brick, 225 mm. Layer 1 stud, 15 mm clear, 65 mm, accepted. Layer 2 acoustic board, 15 mm, delivered. Added thickness 80 mm. The far side is the living room.
	// true
}
