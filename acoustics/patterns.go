package acoustics

import "fmt"

// Pattern is a finding of the literature about differences between build-ups, beside what the prediction makes of it.
type Pattern struct {
	Name  string        `json:"name"`
	Steps []PatternStep `json:"steps"`
	// Expected says what must come out; OK that it does.
	Expected string `json:"expected"`
	OK       bool   `json:"ok"`
	Source   string `json:"source"`
}

// PatternStep is one build-up of a pattern and its R_w with one decimal, in dB.
type PatternStep struct {
	What string  `json:"what"`
	RwDB float64 `json:"rw_db"`
}

// Patterns calculates the findings that every prediction is held to. The sources stand in the result.
func Patterns() ([]Pattern, error) {
	var list []Pattern
	for _, build := range []func() (Pattern, error){framingPattern, spacingPattern, sealingPattern, liningPattern, resonantLiningPattern, tripleLeafPattern} {
		p, err := build()
		if err != nil {
			return nil, fmt.Errorf("pattern %s: %w", p.Name, err)
		}
		list = append(list, p)
	}
	return list, nil
}

// add predicts a wall of 4 m by 2.5 m and adds it as a step.
func (p *Pattern) add(what string, gaps []Gap, layers ...Layer) (float64, error) {
	b := BuildUp{Surface: "wall", WidthM: 4, HeightM: 2.5, Layers: layers, Gaps: gaps}
	out, err := b.Predict()
	if err != nil {
		return 0, err
	}
	r, err := RateAirborne(out.R)
	if err != nil {
		return 0, err
	}
	p.Steps = append(p.Steps, PatternStep{what, r.OneDecimal})
	return r.OneDecimal, nil
}

// plasterboard is a sheet of 12.5 mm and 8.5 kg/m², denseSheet one of 15 mm and 12.8 kg/m²; common practice, no source.
func plasterboard() Layer { return Layer{Board{Thickness: 12.5, Mass: 8.5}} }
func denseSheet() Layer   { return Layer{Board{Thickness: 15, Mass: 12.8}} }

func space(depth, wool float64, f Frame) Layer {
	c := Cavity{Depth: depth, Frame: &f}
	if wool > 0 {
		c.Fill = &Fill{ThicknessMM: wool, DensityKgM3: 20, FlowResistivityKPaSM2: new(10.0)}
	}
	return Layer{c}
}

func framingPattern() (Pattern, error) {
	p := Pattern{
		Name:     "framing",
		Expected: "rising from step to step, bars added to a twin frame at least not falling; bars on one side of single studs stay below a double row of studs, as all rows have it",
		Source: "order of the steps: common experience; timber with bars 48 to 56 (Harris, 3rd ed., Table 31.2), 51 and 55 against double rows with 61 and 66 " +
			"(National Building Code of Canada, from memory, fair)",
	}
	last := 0.0
	p.OK = true
	for _, s := range []struct {
		what        string
		depth, wool float64
		frame       Frame
	}{
		{"timber studs, empty", 102, 0, Frame{Kind: "timber_stud"}},
		{"timber studs, filled", 102, 76, Frame{Kind: "timber_stud"}},
		{"staggered studs, filled", 102, 76, Frame{Kind: "staggered_stud"}},
		{"timber studs with bars on one side, filled", 102, 76, Frame{Kind: "timber_stud", Resilient: "bar"}},
		{"twin frame, filled", 203, 76, Frame{Kind: "twin_frame"}},
		{"twin frame with bars on one side, filled", 203, 76, Frame{Kind: "twin_frame", Resilient: "bar"}},
	} {
		rw, err := p.add(s.what, nil, plasterboard(), space(s.depth, s.wool, s.frame), plasterboard())
		if err != nil {
			return p, err
		}
		p.OK = p.OK && (rw > last || rw == last && s.frame.Kind == "twin_frame")
		last = rw
	}
	return p, nil
}

func spacingPattern() (Pattern, error) {
	p := Pattern{Name: "stud spacing", Expected: "1 to 2 dB more at 600 mm, to the nearest dB", Source: "National Research Council of Canada, Construction Technology Update 1: 1 to 2 STC points"}
	var rw [2]float64
	for i, mm := range []float64{400, 600} {
		var err error
		if rw[i], err = p.add(number(mm)+" mm", nil, plasterboard(), space(90, 75, Frame{Kind: "timber_stud", SpacingMM: &mm}), plasterboard()); err != nil {
			return p, err
		}
	}
	gain := rw[1] - rw[0]
	p.OK = gain >= 0.5 && gain <= 2.6
	return p, nil
}

func sealingPattern() (Pattern, error) {
	p := Pattern{
		Name:     "sealing of the perimeter",
		Expected: "one face open costs less than a sheet of board is worth, both faces more; 53 sealed, 49 with one face open, 29 with none sealed",
		Source:   "pattern of ASTM C919, from memory, fair",
	}
	gap := func(leaf int) Gap { return Gap{Leaf: leaf, LengthM: 13, WidthMM: 3, DepthMM: 30} }
	g, c := denseSheet(), space(75, 50, Frame{Kind: "steel_stud"})
	sealed, err := p.add("sealed", nil, g, g, c, g, g)
	if err != nil {
		return p, err
	}
	one, err := p.add("one face open", []Gap{gap(1)}, g, g, c, g, g)
	if err != nil {
		return p, err
	}
	both, err := p.add("both faces open", []Gap{gap(1), gap(2)}, g, g, c, g, g)
	if err != nil {
		return p, err
	}
	less, err := p.add("sealed, one sheet less", nil, g, c, g, g)
	if err != nil {
		return p, err
	}
	p.OK = sealed-one > 0 && sealed-one < sealed-less && sealed-both > 2*(sealed-less)
	return p, nil
}

func liningPattern() (Pattern, error) {
	p := Pattern{
		Name: "thin linings", Expected: "13 mm unfilled on both sides gains nothing; deeper and filled gains more from step to step",
		Source: "Harris, 3rd ed., Table 31.5: 50 bare, 49 with 13 mm unfilled on both sides, 58 with 65 mm unfilled on one side, 60 filled",
	}
	block := Layer{Board{Of: "masonry", Thickness: 190, Mass: 240, YoungsModulusGPa: new(12.4)}}
	g := Layer{Board{Thickness: 15.9, Mass: 11.5}}
	thin, studs := space(13, 0, Frame{Kind: "none", Resilient: "bar"}), Frame{Kind: "steel_stud"}
	bare, err := p.add("bare block", nil, block)
	if err != nil {
		return p, err
	}
	both, err := p.add("13 mm unfilled, both sides", nil, g, thin, block, thin, g)
	if err != nil {
		return p, err
	}
	deep, err := p.add("65 mm unfilled, one side", nil, block, space(65, 0, studs), g)
	if err != nil {
		return p, err
	}
	filled, err := p.add("65 mm filled, one side", nil, block, space(65, 49, studs), g)
	if err != nil {
		return p, err
	}
	p.OK = both <= bare+0.5 && deep > bare+3 && filled > deep
	return p, nil
}

func resonantLiningPattern() (Pattern, error) {
	p := Pattern{Name: "resonant lining", Expected: "a lining that resonates at 200 Hz or above lowers the wall", Source: "ISO 12354-1:2017, Table D.1"}
	block := Layer{Board{Of: "masonry", Thickness: 215, Mass: 430}}
	bare, err := p.add("bare", nil, block)
	if err != nil {
		return p, err
	}
	p.OK = true
	for _, depth := range []float64{8, 5, 3} {
		f0 := MassSpringMass(rho0*c0*c0/depth*1000, 430, 8.5)
		rw, err := p.add(fmt.Sprintf("%g mm unfilled, resonance at %.0f Hz", depth, f0), nil, block, space(depth, 0, Frame{Kind: "none"}), plasterboard())
		if err != nil {
			return p, err
		}
		p.OK = p.OK && rw < bare
	}
	return p, nil
}

func tripleLeafPattern() (Pattern, error) {
	p := Pattern{
		Name: "inner leaf in mid-cavity", Expected: "lower by several dB; 7 to 8 dB were measured",
		Source: "Uris and others, Applied Acoustics 67 (2006) 918-925, abstract: an inner gypsum board in the middle of a double frame",
	}
	g, f := plasterboard(), Frame{Kind: "twin_frame"}
	double, err := p.add("twin frame, 100 mm filled", nil, g, space(100, 100, f), g)
	if err != nil {
		return p, err
	}
	triple, err := p.add("with a board in the middle", nil, g, space(50, 50, f), g, space(50, 50, f), g)
	if err != nil {
		return p, err
	}
	p.OK = double-triple >= 3 && double-triple <= 10
	return p, nil
}
