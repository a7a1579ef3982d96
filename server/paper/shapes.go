package paper

import "tacet/server/drawing"

// mmPerUnit turns the drawing's units of 1/96 inch into mm.
const mmPerUnit = 25.4 / 96

// section puts the drawing across the page; it is made smaller where it would not fit on one page.
func (f *form) section() {
	shapes, height := f.sheet.Section.Shapes(inner / mmPerUnit)
	scale := mmPerUnit
	if left := bottom - f.y; height*scale > left {
		if left > 0.75*height*scale {
			scale = left / height
		} else {
			f.need(min(height*scale, bottom-margin))
			scale = min(scale, (bottom-f.y)/height)
		}
	}
	for _, s := range shapes {
		f.shape(s, margin, f.y, scale)
	}
	f.y += height*scale + 1
}

// shape draws one shape, black whatever its tone: a sheet is printed, copied and faxed.
func (f *form) shape(s drawing.Shape, x, y, scale float64) {
	points := make([]drawing.Point, len(s.Points))
	for i, p := range s.Points {
		points[i] = drawing.Point{X: x + p.X*scale, Y: y + p.Y*scale}
	}
	if s.Form == drawing.Words {
		style, anchor := "", "L"
		if s.Bold {
			style = "B"
		}
		switch s.Anchor {
		case drawing.Middle:
			anchor = "C"
		case drawing.End:
			anchor = "R"
		}
		f.text(points[0].X, points[0].Y, anchor, style, s.Size*scale/mmPerPoint, s.Text)
		return
	}
	style := ""
	if s.Stroke != drawing.None {
		style = "D"
		shade(f.pdf.SetDrawColor, s.Stroke)
		f.pdf.SetLineWidth(s.Width * scale)
		dashes := make([]float64, len(s.Dash))
		for i, d := range s.Dash {
			dashes[i] = d * scale
		}
		f.pdf.SetDashPattern(dashes, 0)
	}
	if s.Fill != drawing.None && s.Form != drawing.Path {
		style = "F" + style
		shade(f.pdf.SetFillColor, s.Fill)
	}
	switch s.Form {
	case drawing.Circle:
		f.pdf.Circle(points[0].X, points[0].Y, s.Radius*scale, style)
	default:
		f.path(points, s.Form == drawing.Polygon, style)
	}
	f.pdf.SetDashPattern(nil, 0)
	f.pdf.SetDrawColor(0, 0, 0)
	f.pdf.SetFillColor(0, 0, 0)
}

func (f *form) path(points []drawing.Point, closed bool, style string) {
	if len(points) == 0 || style == "" {
		return
	}
	f.pdf.MoveTo(points[0].X, points[0].Y)
	for _, p := range points[1:] {
		f.pdf.LineTo(p.X, p.Y)
	}
	if closed {
		f.pdf.ClosePath()
	}
	f.pdf.DrawPath(style)
}

func shade(set func(r, g, b int), t drawing.Tone) {
	if t == drawing.Paper {
		set(255, 255, 255)
		return
	}
	set(0, 0, 0)
}
