package acoustics_test

import (
	"fmt"

	"tacet/acoustics"
)

// A wall lining: clips and channel on brick, two boards with a membrane between.
func Example() {
	b := acoustics.BuildUp{Surface: "wall", WidthM: 4, HeightM: 2.5, Layers: []acoustics.Layer{
		{Element: acoustics.Board{Of: "masonry", Thickness: 215, Mass: 376, Material: "brick"}},
		{Element: acoustics.Cavity{
			Depth: 40, Fill: &acoustics.Fill{ThicknessMM: 25, DensityKgM3: 24},
			Frame: &acoustics.Frame{Kind: "none", Resilient: "clip"},
		}},
		{Element: acoustics.Board{Thickness: 15, Mass: 12.8}},
		{Element: acoustics.Membrane{Thickness: 5.3, Mass: 10}},
		{Element: acoustics.Board{Thickness: 15, Mass: 12.8}},
	}}
	p, err := b.Predict()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f kg/m², %.1f mm, validated against measurement: %v\n", p.MassKgM2, p.ThicknessMM, p.Validated)
	// Output: 412.2 kg/m², 290.3 mm, validated against measurement: false
}

// ISO 717-1 Annex C, Table C.1.
func ExampleRateAirborne() {
	r, err := acoustics.RateAirborne(acoustics.CurveFrom(100,
		20.4, 16.3, 17.7, 22.6, 22.4, 22.7, 24.8, 26.6, 28.0, 30.5, 31.8, 32.5, 33.4, 33.0, 31.0, 25.5))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("R_w(C;C_tr) = %d(%d;%d) dB, unfavourable sum %.1f dB\n", r.Value, r.C, r.Ctr, r.UnfavourableSum)
	// Output: R_w(C;C_tr) = 30(-2;-3) dB, unfavourable sum 31.8 dB
}

// A misspelt key is refused by name, with its place.
func ExampleDecode() {
	var b acoustics.BuildUp
	err := acoustics.Decode([]byte(`{"surface":"wall","layers":[{"kind":"cavity","dept_mm":75}]}`), &b)
	fmt.Println(err)
	// Output: layers[0].dept_mm is an unknown key; known here: depth_mm, fill, frame
}

// From the laboratory to a room of 31 m³ behind 10 m² of wall, with one flanking path.
func ExampleRoomInput_Site() {
	out, err := acoustics.RoomInput{
		RwDB: new(54.0), CtrDB: new(-6.0), SeparatingAreaM2: new(10.0), ReceivingVolumeM3: new(31.0),
		Flanking: []acoustics.FlankingPath{{RijWDB: new(58.0)}},
	}.Site()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("R'_w %.1f dB, D_nT,w %.1f dB, D_nT,w + C_tr %.1f dB\n", *out.RPrimeWDB, *out.DnTwDB, *out.DnTwCtrDB)
	// Output: R'_w 52.5 dB, D_nT,w 52.5 dB, D_nT,w + C_tr 46.5 dB
}

// 46 dB predicted with u = 4 dB against 43 dB.
func ExampleProbabilityMeets() {
	fmt.Printf("%.0f %%\n", 100*acoustics.ProbabilityMeets(46, 43, 4, false))
	// Output: 77 %
}
