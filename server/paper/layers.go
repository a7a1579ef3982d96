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
	screwRow = 12.5
)

// stockMM are the screw lengths commonly stocked. Source: common practice, no source.
var stockMM = []float64{25, 32, 35, 38, 42, 50, 60}

// layerTable is one line for each layer, with room to write.
func (f *form) layerTable() {
	if len(f.sheet.Layers) == 0 {
		f.need(10)
		f.y = f.lines(margin, f.y+1, "", plainType, []string{"No layers are specified."}) + 2
		return
	}
	f.heading = f.layerHeading
	defer func() { f.heading = nil }()
	if f.y+6+2*layerRow <= bottom {
		f.layerHeading()
	} else {
		f.need(bottom)
	}
	for _, l := range f.sheet.Layers {
		f.layerRow(l)
	}
}

func (f *form) layerHeading() {
	x := margin
	for _, c := range layerColumns {
		f.text(x+1.2, f.y+3.4, "L", "B", smallType, c.title)
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
			f.text(x+c.wide-1.5, top+1.4+plainType*mmPerPoint, "R", "", plainType, number(l.ThicknessMM))
		case 3:
			f.text(x+c.wide-1.5, top+1.4+plainType*mmPerPoint, "R", "", plainType, number(l.MassKgM2))
		}
		if i > 3 {
			f.line(rule, x, top, x, top+high)
		}
		x += c.wide
	}
	f.line(rule, x, top, x, top+high)
	f.y = top + high
	if l.Screw != nil {
		f.screw(l.N, *l.Screw)
	}
	f.line(rule, margin, f.y, pageWidth-margin, f.y)
}

// number is a value to two places at most, a dash where there is none.
func number(v float64) string {
	if !(v > 0) || math.IsInf(v, 0) {
		return "–"
	}
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
}

// screw draws the window as a ruler in true size: a screw laid on it is long enough and not too long when its point ends in the bar.
func (f *form) screw(n int, s Screw) {
	top := f.y
	indent := margin + layerColumns[0].wide
	f.line(hair, indent, top, pageWidth-margin, top)
	f.text(indent+1.2, top+4.2, "L", "", plainType, "Screw, "+number(s.MinMM)+" to "+number(s.MaxMM)+" mm")
	if s.StockMM > 0 {
		f.text(indent+1.2, top+8.8, "L", "B", 11, "use "+number(s.StockMM)+" mm")
	} else {
		f.text(indent+1.2, top+8.8, "L", "B", 11, "no stock length fits: stop, ask")
	}
	f.ruler(indent+70, top+7.4, s)
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
		f.pdf.Rect(x+s.MinMM, y-2.4, math.Min(s.MaxMM, long)-s.MinMM, 2.4, "F")
	}
	last := -10.0
	for _, mm := range stockMM {
		f.line(rule, x+mm, y-3.4, x+mm, y)
		style := ""
		if mm == s.StockMM {
			style = "B"
			f.frame(rule, x+mm-2, y-6.6, 4, 3.2)
		}
		if mm-last >= 3 {
			f.text(x+mm, y-4.1, "C", style, 6.5, number(mm))
			last = mm
		}
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
