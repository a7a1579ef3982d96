package paper

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"time"

	"tacet/server/drawing"
)

// Label is what is stuck beside a surface, or on the face of a layer before it goes on: the code to scan, where it belongs and
// the stack. It is cut from a page of many.
type Label struct {
	Firm    string
	Job     string
	Room    string
	Surface string // code
	Name    string // of the surface: Ceiling, living room
	Layer   int    // 0 labels the surface as a whole
	What    string // the layer in words; empty for the surface
	Says    string // its mass and thickness, or those of all that is added
	URL     string
	Code    string
	Section drawing.Section
	Printed time.Time
	Version string
}

// Measures of a label, in mm: ten on a page. The square code is as large as on a sheet.
const (
	labelWide = 92.0
	labelHigh = 52.0
	labelGap  = inner - 2*labelWide
	labelRows = 5
)

// WriteLabels prints labels, ten on each page, with lines to cut along.
func WriteLabels(w io.Writer, labels []Label) error {
	h := Head{Title: "Labels"}
	if len(labels) > 0 {
		l := labels[0]
		h.Firm, h.Job, h.Printed, h.Version = l.Firm, l.Job, l.Printed, l.Version
	}
	d := newDocument(h)
	if len(labels) == 0 {
		d.pdf.AddPage()
		d.text(margin, margin+6, "L", "", plainType, "There is no surface to label.")
	}
	for i, l := range labels {
		place := i % (2 * labelRows)
		if place == 0 {
			d.pdf.AddPage()
		}
		if err := d.label(margin+float64(place%2)*(labelWide+labelGap), margin+float64(place/2)*labelHigh, l); err != nil {
			return err
		}
	}
	return d.finish(w)
}

func (d *document) label(x, y float64, l Label) error {
	d.pdf.SetDashPattern([]float64{1.5, 1.5}, 0)
	d.frame(hair, x, y, labelWide, labelHigh-1)
	d.pdf.SetDashPattern(nil, 0)
	const pad = 3.0
	d.sheet.Surface = l.Surface // whose code can't be drawn is said by name
	payload := cmp.Or(l.URL, Payload("", l.Code))
	if payload != "" {
		if err := d.qr(x+pad-1, y+pad-1, payload, lasting); err != nil {
			return err
		}
	}
	d.text(x+pad-1+qrSide/2, y+pad+qrSide+3, "C", "B", 9, l.Code)
	left := x + pad + qrSide + 2
	wide := x + labelWide - pad - left
	d.labelTitle(left, y+pad, wide, l)
	top := y + pad + 13.5
	for _, line := range []struct {
		style  string
		points float64
		text   string
		most   int
	}{{"B", plainType, cmp.Or(l.What, l.Name), 2}, {"", smallType + 0.5, l.Says, 2}, {"", smallType + 0.5, l.place(), 1}} {
		lines := d.wrap(line.style, line.points, wide, line.text)
		if len(lines) > line.most {
			lines = lines[:line.most]
			lines[line.most-1] = d.shorten(line.style, line.points, wide, lines[line.most-1]+" …")
		}
		top = d.lines(left, top, line.style, line.points, lines)
	}
	const high = 12.0
	d.stack(left, y+labelHigh-1-pad-high, wide, high, l)
	d.text(x+pad, y+labelHigh-1-pad-0.4, "L", "", 6.5, d.shorten("", 6.5, qrSide, l.Job))
	return nil
}

// place is the room, and the surface's name where the layer has the first line.
func (l Label) place() string {
	if l.What == "" {
		return l.Room
	}
	return join(", ", l.Name)
}

// labelTitle is the surface's code with the layer's number, as large as the label lets them be.
func (d *document) labelTitle(x, y, wide float64, l Label) {
	points, layer := 34.0, ""
	if l.Layer > 0 {
		layer = "layer " + strconv.Itoa(l.Layer)
	}
	room := wide - d.width("B", largeType, layer) - 3
	if layer == "" {
		room = wide
	}
	if w := d.width("B", points, l.Surface); w > room {
		points *= room / w
	}
	base := y + 34*mmPerPoint*capsHeight + 0.5
	d.text(x, base, "L", "B", points, l.Surface)
	d.text(x+wide, base, "R", "B", largeType, layer)
}

// stack is the section without words; the labelled layer stands out by its outline.
func (d *document) stack(x, y, wide, high float64, l Label) {
	own := strconv.Itoa(l.Layer)
	for _, s := range l.Section.SmallShapes(wide/mmPerUnit, high/mmPerUnit) {
		if l.Layer > 0 && s.Role == drawing.RoleSlab && s.Slab == own && s.Stroke != drawing.None {
			s.Width, s.Dash = 3.2, nil
		}
		d.shape(s, x, y, mmPerUnit)
	}
}

// LabelSays is the line of a label on mass and thickness; what is not known is left out.
func LabelSays(massKgM2, thicknessMM float64) string {
	var mass, thick string
	if massKgM2 > 0 {
		mass = fmt.Sprintf("%s kg/m²", number(massKgM2))
	}
	if thicknessMM > 0 {
		thick = fmt.Sprintf("%s mm", number(thicknessMM))
	}
	return join(", ", thick, mass)
}
