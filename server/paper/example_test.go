package paper_test

import (
	"bytes"
	"fmt"
	"time"

	"tacet/server/drawing"
	"tacet/server/paper"
)

func ExampleWrite() {
	sheet := paper.Sheet{
		Surface: "W1", Name: "Party wall", Job: "7b Lantern Row", Printed: time.Date(2026, 11, 25, 8, 30, 0, 0, time.UTC),
		Code: "7KQ2-M4XR-9TBA-P", URL: paper.Payload("https://office.example.org", "7KQ2-M4XR-9TBA-P"),
		Section: drawing.Section{Kind: drawing.Wall, Code: "W1",
			Layers: []drawing.Slab{{Number: 1, Name: "acoustic board", ThicknessMM: 15, Hatch: drawing.DenseBoard, State: drawing.Specified}}},
		Layers: []paper.Layer{{N: 1, What: "acoustic board", ThicknessMM: 15, MassKgM2: 12.6, State: "specified"}},
	}
	var pdf bytes.Buffer
	if err := paper.Write(&pdf, []paper.Sheet{sheet}); err != nil {
		fmt.Println(err)
	}
	fmt.Println(sheet.URL)
	fmt.Printf("%s\n", pdf.Bytes()[:5])
	// Output:
	// HTTPS://OFFICE.EXAMPLE.ORG/S/7KQ2M4XR9TBAP
	// %PDF-
}
