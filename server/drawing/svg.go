package drawing

import (
	"bytes"
	"html"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// picture is a list of shapes on its way to becoming an SVG element for a page.
type picture struct {
	width, height float64
	shapes        []Shape
	title, desc   string
	class         string
	hidden        bool // from screen readers
}

// tones are the colours on a light page. A style sheet may override them by class, which wins over the attribute: tone-ink,
// tone-paper, tone-line, tone-stop, tone-wait for what is filled, edge-ink and so on for what is stroked.
var tones = map[Tone]string{Ink: "#15181a", Paper: "#fbfaf7", Line: "#6b6f6c", Stop: "#7d1f1f", Wait: "#6b4600", Accent: "#0b4f5c", Faint: "#dde3e1"}

// SVG draws the section for a page, width in CSS pixels, as one svg element without inline styles or scripts; its title and
// description state the result. It is safe to put into HTML as it is.
func (s Section) SVG(width int) []byte {
	shapes, height := s.Shapes(float64(width))
	return picture{width: math.Max(narrowest, float64(width)), height: height, shapes: shapes, title: s.TitleWords(), desc: s.DescWords(),
		class: "drawing"}.svg()
}

func (p picture) svg() []byte {
	var b bytes.Buffer
	class := "drawing"
	if p.class != "" && p.class != class {
		class += " " + p.class
	}
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="` + class + `" width="` + num(p.width) + `" height="` + num(p.height) +
		`" viewBox="0 0 ` + num(p.width) + " " + num(p.height) + `"`)
	if p.hidden {
		b.WriteString(` aria-hidden="true" focusable="false">`)
	} else {
		b.WriteString(` role="img">`)
		b.WriteString("<title>" + escape(p.title) + "</title>")
		if p.desc != "" {
			b.WriteString("<desc>" + escape(p.desc) + "</desc>")
		}
	}
	b.WriteString("\n")
	for _, s := range joined(p.shapes) {
		writeShape(&b, s)
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// run is several shapes of one look, written as one path: a hatch of hundreds of strokes is a few lines of text.
type run struct {
	Shape
	parts [][]Point // one for each stroke, dot or outline
}

// joined puts neighbours of one look together. What is drawn over what stays as it was: only shapes that follow each other are joined,
// and filled ones only where they are dots of a hatch, which do not overlap.
func joined(shapes []Shape) []run {
	var runs []run
	for _, s := range shapes {
		if n := len(runs); n > 0 && joins(runs[n-1].Shape, s) {
			runs[n-1].add(s)
			continue
		}
		runs = append(runs, run{s, [][]Point{s.Points}})
	}
	return runs
}

// add takes in one more shape of the look; a stroke that begins where the last one ended goes on with it.
func (r *run) add(s Shape) {
	last := r.parts[len(r.parts)-1]
	if end := last[len(last)-1]; s.Form == Path && tenths(end.X) == tenths(s.Points[0].X) && tenths(end.Y) == tenths(s.Points[0].Y) {
		r.parts[len(r.parts)-1] = append(slices.Clip(last), s.Points[1:]...)
		return
	}
	r.parts = append(r.parts, s.Points)
}

func joins(a, b Shape) bool {
	return len(a.Points) > 0 && len(b.Points) > 0 && a.Role == RoleHatch && b.Role == RoleHatch && a.Form != Words && a.Form == b.Form && a.Slab == b.Slab && a.Fill == b.Fill && a.Stroke == b.Stroke &&
		a.Width == b.Width && a.Radius == b.Radius && slices.Equal(a.Dash, b.Dash)
}

func writeShape(b *bytes.Buffer, s run) {
	switch s.Form {
	case Polygon, Path:
		b.WriteString(`<path d="`)
		for _, points := range s.parts {
			b.WriteString(data(points))
			if s.Form == Polygon {
				b.WriteByte('Z')
			}
		}
		b.WriteByte('"')
	case Circle:
		if len(s.parts) > 1 {
			b.WriteString(`<path d="`)
			for _, points := range s.parts {
				b.WriteString(dot(points[0], s.Radius))
			}
			b.WriteByte('"')
			break
		}
		b.WriteString(`<circle cx="` + num(s.Points[0].X) + `" cy="` + num(s.Points[0].Y) + `" r="` + num(s.Radius) + `"`)
	case Words:
		b.WriteString(`<text x="` + num(s.Points[0].X) + `" y="` + num(s.Points[0].Y) + `" font-family="system-ui, sans-serif" font-size="` + num(s.Size) + `"`)
		if s.Bold {
			b.WriteString(` font-weight="bold"`)
		}
		if s.Anchor != Start && s.Anchor != "" {
			b.WriteString(` text-anchor="` + string(s.Anchor) + `"`)
		}
	}
	var classes []string
	if s.Fill != None {
		classes = append(classes, "tone-"+string(s.Fill))
		b.WriteString(` fill="` + tones[s.Fill] + `"`)
	} else {
		b.WriteString(` fill="none"`)
	}
	if s.Stroke != None {
		classes = append(classes, "edge-"+string(s.Stroke))
		b.WriteString(` stroke="` + tones[s.Stroke] + `" stroke-width="` + num(s.Width) + `"`)
		if len(s.Dash) > 0 {
			dashes := make([]string, len(s.Dash))
			for i, d := range s.Dash {
				dashes[i] = num(d)
			}
			b.WriteString(` stroke-dasharray="` + strings.Join(dashes, " ") + `"`)
		}
	}
	b.WriteString(` class="` + strings.Join(classes, " ") + `"`)
	if s.Form == Words {
		b.WriteString(">" + escape(s.Text) + "</text>\n")
		return
	}
	b.WriteString("/>\n")
}

// data is a run of lines: the first point where it is, each further one from the one before, to a tenth of a pixel.
func data(points []Point) string {
	b := []byte{'M'}
	x, y := 0, 0
	for i, p := range points {
		px, py := tenths(p.X), tenths(p.Y)
		switch {
		case i == 1:
			b = append(b, 'l')
		case i > 1 && px-x >= 0:
			b = append(b, ' ')
		}
		b = appendTenths(b, px-x)
		if py-y >= 0 {
			b = append(b, ' ')
		}
		b = appendTenths(b, py-y)
		x, y = px, py
	}
	return string(b)
}

// dot is a circle as two arcs.
func dot(at Point, radius float64) string {
	r := num(radius)
	return "M" + num(math.Round((at.X-radius)*10)/10) + " " + num(math.Round(at.Y*10)/10) + "a" + r + " " + r + " 0 1 0 " + num(2*radius) + " 0a" + r + " " + r + " 0 1 0 " + num(-2*radius) + " 0"
}

func tenths(v float64) int {
	if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 1e6 {
		return 0
	}
	return int(math.Round(v * 10))
}

func appendTenths(b []byte, n int) []byte {
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	b = strconv.AppendInt(b, int64(n/10), 10)
	if n%10 != 0 {
		b = append(b, '.', byte('0'+n%10))
	}
	return b
}

// num is a coordinate to a hundredth, as short as it goes.
func num(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	v = math.Round(v*100) / 100
	if v == 0 {
		v = 0 // no minus zero
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// escape makes words safe in markup and leaves out what no markup may hold.
func escape(text string) string {
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "�"))
	return html.EscapeString(text)
}
