package paper

import (
	"slices"
	"strconv"
)

// Plan is a surface as it is seen from the room, with the lines that were recorded behind it.
type Plan struct {
	WidthM, HeightM float64
	Lines           []PlanLines
	Notes           []string // which edge is which
}

// PlanLines are lines of one kind. Across tells that they run up and down and AtMM is measured from the left; else they run
// from side to side and AtMM is measured from the top.
type PlanLines struct {
	What   string
	Across bool
	AtMM   []float64
	Danger bool // a pipe or a cable
}

// Measures of a plan on paper, in mm.
const (
	planWide = 120.0
	planHigh = 62.0
	planSide = 16.0 // for the figures beside it
)

// plan draws the surface to scale with its lines: frames in whole lines, pipes and cables in broken ones.
func (d *packForm) plan(p Plan) {
	if p.WidthM <= 0 || p.HeightM <= 0 || len(p.Lines) == 0 {
		return
	}
	scale := min(planWide/p.WidthM, planHigh/p.HeightM) / 1000 // paper mm for each mm
	wide, high := p.WidthM*1000*scale, p.HeightM*1000*scale
	d.need(high + 18)
	x, y := margin+planSide, d.y+7
	d.frame(stout, x, y, wide, high)
	d.text(x, d.y+3, "L", "B", smallType, "seen from the room, figures in mm from the left and from the top")
	var figuresAcross, figuresDown []planFigure
	for _, l := range p.Lines {
		width, dash := rule, []float64(nil)
		if l.Danger {
			width, dash = stout, []float64{2, 1.2}
		}
		d.pdf.SetDashPattern(dash, 0)
		for _, mm := range l.AtMM {
			at := mm * scale
			if l.Across {
				d.line(width, x+at, y, x+at, y+high)
				figuresAcross = append(figuresAcross, planFigure{at, mm})
			} else {
				d.line(width, x, y+at, x+wide, y+at)
				figuresDown = append(figuresDown, planFigure{at, mm})
			}
		}
		d.pdf.SetDashPattern(nil, 0)
	}
	for _, f := range spaced(figuresAcross, 8) {
		d.text(x+f.at, y+high+3.2, "C", "", smallType, f.words())
	}
	for _, f := range spaced(figuresDown, 3) {
		d.text(x-1.2, y+f.at+1, "R", "", smallType, f.words())
	}
	d.y = y + high + 5.5
	for _, l := range p.Lines {
		mark := "whole lines: "
		if l.Danger {
			mark = "broken lines, never fix here: "
		}
		d.bullets(margin, inner, []string{mark + l.What})
	}
	d.bullets(margin, inner, p.Notes)
}

// planFigure is a figure beside a plan.
type planFigure struct{ at, mm float64 }

func (f planFigure) words() string { return strconv.FormatFloat(f.mm, 'f', 0, 64) }

// spaced leaves out figures that would stand on the one before.
func spaced(figures []planFigure, least float64) []planFigure {
	slices.SortFunc(figures, func(a, b planFigure) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	var out []planFigure
	for _, f := range figures {
		if len(out) == 0 || f.at-out[len(out)-1].at >= least {
			out = append(out, f)
		}
	}
	return out
}
