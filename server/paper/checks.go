package paper

import (
	"math"
	"strconv"
	"strings"
)

// Columns of the check table, in mm.
const (
	checkCode  = 13.5
	checkLayer = 9.0
	checkBox   = 13.0
	checkSign  = 18.0
	checkText  = inner - checkCode - checkLayer - 4*checkBox - checkSign
	tickBox    = 7.0
	checkRow   = 11.0
	valueRow   = 7.5 // room to write what was measured
)

// checkAnswers are the boxes of a check, as a form on a page asks.
var checkAnswers = [4]string{"yes", "no", "not seen", "doesn't apply"}

// photoLegend says what the letters of a photo rule stand for, on every page with checks: pages of a sheet hang apart.
const photoLegend = "Photo: W wide, with this surface's code in the picture. C close, with a rule in it. V along the whole run, three photos or more."

// checkTable is a row for each check with boxes to tick: never ticked beforehand, a stop item in a double frame.
func (f *form) checkTable() {
	if len(f.sheet.Checks) == 0 {
		return
	}
	f.heading = f.checkHeading
	defer func() { f.heading = nil }()
	if f.y+8+2*checkRow <= bottom {
		f.y += 2
		f.checkHeading()
	} else {
		f.need(bottom)
	}
	for _, c := range f.sheet.Checks {
		f.check(c)
	}
}

func (f *form) checkHeading() {
	f.y += leading(smallType) // two lines: what the last box is for is not set smaller than the others
	y := f.y + 3.4
	f.text(margin+1.2, y-leading(smallType), "L", "", smallType, photoLegend)
	f.text(margin+1.2, y, "L", "B", smallType, "check")
	f.text(margin+checkCode+checkLayer/2, y, "C", "B", smallType, "layer")
	f.text(margin+checkCode+checkLayer+1.2, y, "L", "B", smallType, "accept when")
	for i, word := range checkAnswers {
		lines := f.wrap("B", smallType, checkBox-0.6, word)
		for k, line := range lines {
			f.text(f.boxAt(i)+tickBox/2, y-float64(len(lines)-1-k)*leading(smallType), "C", "B", smallType, line)
		}
	}
	f.text(pageWidth-margin-checkSign+1.2, y, "L", "B", smallType, "initials")
	f.y += 4.8
	f.line(stout, margin, f.y, pageWidth-margin, f.y)
	f.y += 0.6
}

// boxAt is the left edge of the i-th tick box.
func (f *form) boxAt(i int) float64 {
	return margin + checkCode + checkLayer + checkText + float64(i)*checkBox + (checkBox-tickBox)/2
}

func (f *form) check(c Check) {
	accept := f.wrap("", plainType, checkText-2.4, c.Criterion)
	how := f.wrap("", smallType, checkText-2.4, join(" ", clause("How: ", c.Measure), clause("Photo: ", strings.Trim(c.Photo, "-"))))
	how = append(how, f.wrap("", smallType, checkText-2.4, clause("So far: ", c.State))...)
	high := math.Max(checkRow, 2.8+float64(len(accept))*leading(plainType)+float64(len(how))*leading(smallType))
	if c.Stop {
		high += 1.2
	}
	if len(c.Values) > 0 {
		high += valueRow
	}
	f.need(high)
	top := f.y
	f.text(margin+2, top+5.6, "L", "B", 11, c.Code)
	if c.Stop {
		f.text(margin+2, top+9.2, "L", "B", smallType, "STOP")
	}
	layer := "all"
	if c.Layer > 0 {
		layer = strconv.Itoa(c.Layer)
	}
	f.text(margin+checkCode+checkLayer/2, top+5.6, "C", "", 11, layer)
	left := margin + checkCode + checkLayer + 1.2
	y := f.lines(left, top+1.6, "", plainType, accept)
	y = f.lines(left, y, "", smallType, how)
	f.values(left, y+valueRow-1.2, c.Values)
	for i := range checkAnswers {
		f.frame(rule, f.boxAt(i), top+(high-tickBox)/2, tickBox, tickBox)
	}
	sign := pageWidth - margin - checkSign
	f.line(hair, sign, top+0.8, sign, top+high-0.8)
	if c.Stop {
		f.frame(0.4, margin, top+0.1, inner, high-0.2)
		f.frame(rule, margin+0.9, top+1, inner-1.8, high-2)
	} else {
		f.line(hair, pageWidth-margin, top+0.8, pageWidth-margin, top+high)
		f.line(rule, margin, top+high, pageWidth-margin, top+high)
	}
	f.y = top + high + 1
}

// values are lines to write what was measured on, each with its name before and its unit behind; y is where they stand.
func (f *form) values(x, y float64, values []Value) {
	wide := (checkText - 2.4) / float64(max(2, len(values)))
	for i, v := range values {
		from := x + float64(i)*wide
		name := f.shorten("", smallType, wide/2, v.Name)
		unit := f.width("", smallType, v.Unit) + 3
		f.text(from, y, "L", "", smallType, name)
		f.line(rule, from+f.width("", smallType, name)+1.2, y+0.4, from+wide-unit-1, y+0.4)
		f.text(from+wide-unit, y, "L", "", smallType, v.Unit)
	}
}

// clause is a short sentence with its heading, nothing where there is no text.
func clause(heading, text string) string {
	if text == "" {
		return ""
	}
	return heading + strings.TrimRight(text, ".") + "."
}
