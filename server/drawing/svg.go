package drawing

import (
	"bytes"
	"html"
	"math"
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
	for _, s := range p.shapes {
		writeShape(&b, s)
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

func writeShape(b *bytes.Buffer, s Shape) {
	switch s.Form {
	case Polygon:
		b.WriteString(`<path d="` + data(s.Points) + `Z"`)
	case Path:
		b.WriteString(`<path d="` + data(s.Points) + `"`)
	case Circle:
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

func data(points []Point) string {
	var b strings.Builder
	for i, p := range points {
		switch i {
		case 0:
			b.WriteString("M")
		case 1:
			b.WriteString("L")
		default:
			b.WriteString(" ")
		}
		b.WriteString(num(p.X) + " " + num(p.Y))
	}
	return b.String()
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
