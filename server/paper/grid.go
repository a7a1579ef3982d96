package paper

import "strings"

// column is one column of a table that is filled in by pen, in print, or both.
type column struct {
	title string
	wide  float64 // mm
	right bool    // numbers stand at the right
	bold  bool
	write bool // lines at its sides: room for the pen
	box   bool // a box to tick in each row, unless the cell holds words
}

// grid is a table whose heading stands again on each further page. Rows are at least as high as least, in mm.
func (d *document) grid(columns []column, rows [][]string, least float64) {
	heading := func() { d.gridHeading(columns) }
	d.need(6 + 2*least)
	heading()
	d.heading = heading
	for _, row := range rows {
		d.gridRow(columns, row, least)
	}
	d.heading = nil
	d.y++
}

// gridHeading sets the titles of the columns in as many lines as the longest needs, all on the line of the last.
func (d *document) gridHeading(columns []column) {
	titles := make([][]string, len(columns))
	most := 1
	for i, c := range columns {
		titles[i] = d.wrap("B", smallType, c.wide-1, c.title)
		most = max(most, len(titles[i]))
	}
	d.y += float64(most-1) * leading(smallType)
	x := margin
	for i, c := range columns {
		for k, line := range titles[i] {
			y := d.y + 3.4 - float64(len(titles[i])-1-k)*leading(smallType)
			switch {
			case c.right:
				d.text(x+c.wide-1.2, y, "R", "B", smallType, line)
			case c.box:
				d.text(x+c.wide/2, y, "C", "B", smallType, line)
			default:
				d.text(x+1, y, "L", "B", smallType, line)
			}
		}
		x += c.wide
	}
	d.y += 4.6
	d.line(stout, margin, d.y, x, d.y)
}

// gridBox is the side of a tick box, in mm: a gloved hand meets it.
const gridBox = 6.0

func (d *document) gridRow(columns []column, row []string, least float64) {
	cells := make([][]string, len(columns))
	lines := 0
	for i, c := range columns {
		if i < len(row) && row[i] != "" {
			cells[i] = d.wrap(c.style(), plainType-1, c.wide-2, row[i])
			lines = max(lines, len(cells[i]))
		}
	}
	// A row that is higher than a page runs on over as many as it needs.
	const most = 50
	for lines > most {
		part := make([][]string, len(cells))
		for i, c := range cells {
			n := min(most, len(c))
			part[i], cells[i] = c[:n], c[n:]
		}
		d.gridCells(columns, part, least)
		lines -= most
	}
	d.gridCells(columns, cells, least)
}

func (c column) style() string {
	if c.bold {
		return "B"
	}
	return ""
}

func (d *document) gridCells(columns []column, cells [][]string, least float64) {
	high := least
	for _, c := range cells {
		high = max(high, 2+float64(len(c))*leading(plainType-1))
	}
	d.need(high)
	top, x := d.y, margin
	for i, c := range columns {
		switch {
		case len(cells[i]) > 0 && c.right:
			d.text(x+c.wide-1.2, top+1+(plainType-1)*mmPerPoint, "R", c.style(), plainType-1, cells[i][0])
		case len(cells[i]) > 0:
			d.lines(x+1, top+1, c.style(), plainType-1, cells[i])
		case c.box:
			d.frame(rule, x+(c.wide-gridBox)/2, top+(high-gridBox)/2, gridBox, gridBox)
		}
		if c.write {
			d.line(hair, x, top, x, top+high)
			d.line(hair, x+c.wide, top, x+c.wide, top+high)
		}
		x += c.wide
	}
	d.y = top + high
	d.line(hair, margin, d.y, x, d.y)
}

// blankField is a box to write into, with its label small in the corner and what is known already.
type blankField struct {
	label string
	share float64 // of the page's width; the shares of a row need not add up to one
	known string
	unit  string
}

const fieldHigh = 10.0

// fields is a row of boxes to write into.
func (d *document) fields(fields ...blankField) {
	d.need(fieldHigh)
	var sum float64
	for _, f := range fields {
		sum += f.share
	}
	x := margin
	for _, f := range fields {
		wide := inner * f.share / sum
		d.frame(hair, x, d.y, wide, fieldHigh)
		points := smallType - 0.5
		if w := d.width("", points, f.label); w > wide-2 {
			points *= (wide - 2) / w
		}
		d.text(x+1, d.y+2.8, "L", "", points, f.label)
		d.text(x+wide-1, d.y+fieldHigh-1.6, "R", "", plainType-1, f.unit)
		room := wide - 3 - d.width("", plainType-1, f.unit)
		d.known(x+1.5, room, f.known)
		x += wide
	}
	d.y += fieldHigh
}

// known sets what a box to write into holds already: on one line, else smaller on two.
func (d *document) known(x, wide float64, words string) {
	if d.width("B", plainType-1, words) <= wide {
		d.text(x, d.y+fieldHigh-1.8, "L", "B", plainType-1, words)
		return
	}
	lines := d.wrap("B", smallType, wide, words)
	if len(lines) > 2 {
		lines = []string{lines[0], d.shorten("B", smallType, wide, strings.Join(lines[1:], " "))}
	}
	for i, l := range lines {
		d.text(x, d.y+fieldHigh-1.2-float64(len(lines)-1-i)*3, "L", "B", smallType, l)
	}
}

// ticks is a label and words with a box before each, in as many lines as they need.
func (d *document) ticks(label string, words []string) {
	const high, left = gridBox + 2, 34.0
	d.need(high)
	heads := d.wrap("B", plainType-1, left-2, label)
	d.lines(margin, d.y+2, "B", plainType-1, heads)
	start := d.y
	x := margin + left
	for _, w := range words {
		wide := gridBox + 1.2 + d.width("", plainType-1, w) + 4.5
		if x+wide > pageWidth-margin+4 && x > margin+left {
			x = margin + left
			d.y += high
			d.need(high)
		}
		d.frame(rule, x, d.y+1, gridBox, gridBox)
		d.text(x+gridBox+1.2, d.y+1+gridBox-1.9, "L", "", plainType-1, w)
		x += wide
	}
	d.y = max(d.y+high, start+2+float64(len(heads))*leading(plainType-1))
}

// ruledLine is room for a line of writing, in mm.
const ruledLine = 8.0

// ruledHigh is how much room n lines take with their label.
func ruledHigh(n int) float64 { return 5 + ruledLine*float64(n) }

// ruled is a label and lines to write on.
func (d *form) ruled(label string, n int) {
	d.need(ruledHigh(n))
	d.text(margin, d.y+3.4, "L", "B", smallType+0.5, label)
	d.y += 3.4
	for range n {
		d.y += ruledLine
		d.line(hair, margin, d.y, pageWidth-margin, d.y)
	}
	d.y += 1.5
}

// subtitle is the heading of a block of boxes; it never stands alone at the foot of a page.
func (d *document) subtitle(words string) {
	d.need(22)
	d.y += 2.2
	d.y = d.lines(margin, d.y, "B", plainType+0.5, d.wrap("B", plainType+0.5, inner, words)) + 0.9
}

// signHigh is how much room a row to sign in takes, in mm: what is signed asks for it, so that no signature stands on a page alone.
const signHigh = 16.0

// signatures is a row of boxes to sign in, for whoever filled a paper in and whoever typed it back.
func (d *form) signatures(words ...string) {
	const high = signHigh - 3
	d.need(signHigh)
	d.y += 3
	wide := inner / float64(len(words))
	for i, word := range words {
		x := margin + float64(i)*wide
		d.frame(rule, x, d.y, wide, high)
		d.text(x+1.2, d.y+3.2, "L", "", smallType, word)
	}
	d.y += high
}
