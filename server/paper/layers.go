package paper

import (
	"math"
	"strconv"
)

// Columns of the layer table, in mm from the left margin: what is printed, then what is written by hand.
var layerColumns = []struct {
	title string
	wide  float64
}{
	{"", 9}, {"layer, outward", 61}, {"mm", 13}, {"kg/m²", 15}, {"kg/m² fitted", 24}, {"share", 18}, {"time", 22}, {"initials", 24},
}

// Row heights, in mm: enough for a pen in a gloved hand.
const (
	layerRow = 11.0
	screwRow = 15.0
)

// stockMM are the screw lengths commonly stocked. Source: common practice, no source.
var stockMM = []float64{25, 32, 35, 38, 42, 50, 60}

// blankLayers are lines to write on where nothing is specified yet.
var blankLayers = []Layer{{N: 1}, {N: 2}, {N: 3}, {N: 4}, {N: 5}, {N: 6}}

// layerTable is one line for each layer, with room to write.
func (f *form) layerTable() {
	layers := f.sheet.Layers
	if len(layers) == 0 {
		layers = blankLayers
	}
	f.heading = f.layerHeading
	defer func() { f.heading = nil }()
	if f.y+6+2*layerRow <= bottom {
		f.layerHeading()
	} else {
		f.need(bottom)
	}
	for _, l := range layers {
		f.layerRow(l)
	}
}

func (f *form) layerHeading() {
	x := margin
	for i, c := range layerColumns {
		if i == 2 || i == 3 { // numbers stand at the right of their columns
			f.text(x+c.wide-1.5, f.y+3.4, "R", "B", smallType, c.title)
		} else {
			f.text(x+1.2, f.y+3.4, "L", "B", smallType, c.title)
		}
		x += c.wide
	}
	f.y += 4.8
	f.line(stout, margin, f.y, pageWidth-margin, f.y)
}

func (f *form) layerRow(l Layer) {
	name := f.wrap("", plainType, layerColumns[1].wide-2.4, l.What)
	state := f.wrap("", smallType, layerColumns[1].wide-2.4, l.State)
	high := math.Max(layerRow, 2.4+float64(len(name))*leading(plainType)+float64(len(state))*leading(smallType))
	total := high
	if l.Screw != nil {
		total += screwRow
	}
	f.need(math.Min(total, bottom-margin-30))
	top := f.y
	x := margin
	for i, c := range layerColumns {
		switch i {
		case 0:
			f.text(x+c.wide/2, top+7.2, "C", "B", largeType, strconv.Itoa(l.N))
		case 1:
			y := f.lines(x+1.2, top+1.4, "", plainType, name)
			f.lines(x+1.2, y, "", smallType, state)
		case 2:
			f.text(x+c.wide-1.5, top+1.4+plainType*mmPerPoint, "R", "", plainType, figure(l, l.ThicknessMM))
		case 3:
			f.text(x+c.wide-1.5, top+1.4+plainType*mmPerPoint, "R", "", plainType, figure(l, l.MassKgM2))
		}
		if i > 3 {
			f.line(rule, x, top, x, top+high)
		}
		x += c.wide
	}
	f.line(rule, x, top, x, top+high)
	f.y = top + high
	if l.Screw != nil {
		f.screw(*l.Screw)
	}
	f.line(rule, margin, f.y, pageWidth-margin, f.y)
}

// figure is a value of a layer; a blank line stays blank.
func figure(l Layer, v float64) string {
	if l.What == "" {
		return ""
	}
	return number(v)
}

// number is a value to two places at most, a dash where there is none.
func number(v float64) string {
	if !(v > 0) || math.IsInf(v, 0) {
		return "–"
	}
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
}

// screw draws the window as a ruler in true size: a screw laid on it is long enough and not too long when its point ends in the bar.
func (f *form) screw(s Screw) {
	top := f.y
	indent := margin + layerColumns[0].wide
	f.line(hair, indent, top, pageWidth-margin, top)
	window, use := "Screw, "+number(s.MinMM)+" to "+number(s.MaxMM)+" mm", "use "+number(s.StockMM)+" mm"
	switch {
	case !(s.MinMM > 0) || !(s.MaxMM > 0) || math.IsInf(s.MinMM, 0) || math.IsInf(s.MaxMM, 0):
		window, use = "Screw window not known", "stop, ask"
	case !(s.StockMM > 0):
		use = "no stock length fits: stop, ask"
	}
	f.text(indent+1.2, top+5.6, "L", "", plainType, window)
	f.text(indent+1.2, top+10.6, "L", "B", 11, use)
	f.ruler(indent+76, top+10.2, s)
	f.y = top + screwRow
}

// ruler runs from 0 in mm, true to size.
func (f *form) ruler(x, y float64, s Screw) {
	long := 65.0
	if s.MaxMM > 60 && s.MaxMM < 95 {
		long = math.Ceil(s.MaxMM) + 5
	}
	f.line(rule, x, y, x+long, y)
	for mm := 0.0; mm <= long; mm += 5 {
		tick := 0.9
		if math.Mod(mm, 10) == 0 {
			tick = 1.6
		}
		f.line(hair, x+mm, y, x+mm, y+tick)
	}
	if s.MinMM < long && s.MaxMM > s.MinMM && s.MinMM >= 0 {
		f.pdf.Rect(x+s.MinMM, y-2, math.Min(s.MaxMM, long)-s.MinMM, 2, "F")
	}
	for i, mm := range stockMM {
		high := 3.2 + 2.9*float64(i%2) // neighbours are 3 mm apart: their numbers stand at two heights
		style := ""
		if mm == s.StockMM {
			style = "B"
			f.frame(rule, x+mm-2.1, y-high-2.7, 4.2, 3)
		}
		f.line(rule, x+mm, y-high+0.3, x+mm, y)
		f.text(x+mm, y-high-0.3, "C", style, 7, number(mm))
	}
	f.text(x, y+4.4, "L", "", 6, "0")
	f.text(x+long, y+4.4, "R", "", 6, "true size when printed at 100 %")
}

// totals are the sums with the limits that were agreed.
func (f *form) totals() {
	t := f.sheet.Totals
	if t == (Totals{}) {
		return
	}
	mass := number(t.MassKgM2) + " kg/m²"
	thick := number(t.ThicknessMM) + " mm"
	if t.ThicknessLimitMM > 0 {
		thick += " of " + number(t.ThicknessLimitMM) + " mm allowed"
	}
	load := number(t.LoadKNM2) + " kN/m²"
	if t.LoadLimitKNM2 > 0 {
		load += " of " + strconv.FormatFloat(t.LoadLimitKNM2, 'f', 2, 64) + " kN/m² agreed"
	} else {
		load += ", no limit agreed: ask before fixing"
	}
	lines := f.wrap("B", plainType, inner-2, "Added: "+mass+" · "+thick+" · "+load)
	more := f.wrap("", plainType, inner-2, t.LoadNote)
	f.need(4 + float64(len(lines)+len(more))*leading(plainType))
	y := f.lines(margin+1, f.y+1.5, "B", plainType, lines)
	f.y = f.lines(margin+1, y, "", plainType, more) + 3
}
