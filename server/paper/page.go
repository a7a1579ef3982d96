package paper

import (
	"fmt"
	"strings"
	"sync"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"tacet/server/drawing"
)

// Measures of the page, in mm: A4 upright with margins that every printer can print.
const (
	pageWidth  = 210.0
	pageHeight = 297.0
	margin     = 12.0
	inner      = pageWidth - 2*margin
	footHeight = 8.0
	bottom     = pageHeight - margin - footHeight
)

// fullPage is what a page holds below the head that further pages have, at the least.
const fullPage = bottom - margin - 20

// Line widths, in mm.
const (
	hair  = 0.15
	rule  = 0.25
	stout = 0.6
)

// Sizes of type, in points.
const (
	smallType = 7.5
	plainType = 9.5
	largeType = 13.0
)

// mmPerPoint turns a size of type into mm.
const mmPerPoint = 25.4 / 72

// form is a PDF in the making: one sheet at a time, from the top of a page down.
type form struct {
	pdf   *fpdf.Fpdf
	sheet Sheet
	y     float64 // the next free place down the page, mm
	// heading is drawn again at the top of each further page while a table runs on; nil outside tables.
	heading func()
	// further is the head of further pages; nil for a site sheet's own.
	further func()
}

// newForm opens a document whose bytes depend on nothing but what is written into it and the time given.
func newForm(printed time.Time) *form {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(printed.UTC())
	pdf.SetModificationDate(printed.UTC())
	pdf.SetProducer("Tacet", true)
	pdf.AddUTF8FontFromBytes("go", "", goregular.TTF)
	pdf.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	pdf.SetDrawColor(0, 0, 0)
	pdf.SetTextColor(0, 0, 0)
	pdf.SetFillColor(0, 0, 0)
	return &form{pdf: pdf}
}

// parsed is the font again, to ask which letters it has.
var parsed = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(goregular.TTF) })

// printable replaces what the font has no letter for with a box, so that the reader sees that something stands there.
func printable(text string) string {
	face, err := parsed()
	if err != nil {
		return text
	}
	var buf sfnt.Buffer
	return strings.Map(func(r rune) rune {
		if r < 0x20 || r == 0x7f {
			return ' '
		}
		if r == '\u202f' || r == '\u2009' { // thin spaces before units, which the font lacks
			return '\u00a0'
		}
		if r < 0x7f {
			return r
		}
		if r > 0xffff {
			return '□'
		}
		if glyph, err := face.GlyphIndex(&buf, r); err != nil || glyph == 0 {
			return '□'
		}
		return r
	}, strings.ToValidUTF8(text, "□"))
}

func (f *form) font(style string, points float64) { f.pdf.SetFont("go", style, points) }

// text sets one line with its base line at y; anchor is L, C or R.
func (f *form) text(x, y float64, anchor, style string, points float64, text string) {
	text = printable(text)
	if text == "" {
		return
	}
	f.font(style, points)
	switch anchor {
	case "C":
		x -= f.pdf.GetStringWidth(text) / 2
	case "R":
		x -= f.pdf.GetStringWidth(text)
	}
	f.pdf.Text(x, y, text)
}

// width is how wide the line would be set.
func (f *form) width(style string, points float64, text string) float64 {
	f.font(style, points)
	return f.pdf.GetStringWidth(printable(text))
}

// wrap breaks the text into lines that fit; a word that is wider by itself is cut, never dropped.
func (f *form) wrap(style string, points, width float64, text string) []string {
	f.font(style, points)
	fits := func(s string) bool { return f.pdf.GetStringWidth(s) <= width }
	var lines []string
	line := ""
	for _, word := range drawing.Unbroken(printable(text)) {
		if line != "" && fits(line+" "+word) {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for !fits(word) {
			end := 0
			for i, r := range word {
				if i > 0 && !fits(word[:i+len(string(r))]) {
					break
				}
				end = i + len(string(r))
			}
			if end == len(word) {
				break // a single letter wider than the column
			}
			lines = append(lines, word[:end])
			word = word[end:]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// leading is the height of a line of type, in mm.
func leading(points float64) float64 { return points * mmPerPoint * 1.25 }

// lines sets wrapped lines from the top of a place downward and says where they end.
func (f *form) lines(x, top float64, style string, points float64, lines []string) float64 {
	for _, l := range lines {
		f.text(x, top+points*mmPerPoint, "L", style, points, l)
		top += leading(points)
	}
	return top
}

func (f *form) line(width, x1, y1, x2, y2 float64) {
	f.pdf.SetLineWidth(width)
	f.pdf.Line(x1, y1, x2, y2)
}

func (f *form) frame(width, x, y, w, h float64) {
	f.pdf.SetLineWidth(width)
	f.pdf.Rect(x, y, w, h, "D")
}

// need turns the page when less than the height is left on it.
func (f *form) need(height float64) {
	if f.y+height <= bottom {
		return
	}
	f.pdf.AddPage()
	f.y = margin
	if f.further != nil {
		f.further()
	} else {
		f.furtherHeader()
	}
	if f.heading != nil {
		f.heading()
	}
}

// foot is written on each page of a surface once their number is known.
func (f *form) foot(page, pages int) {
	s := f.sheet
	y := pageHeight - margin - 4
	f.line(hair, margin, y, pageWidth-margin, y)
	right := fmt.Sprintf("%s  page %d of %d", s.Surface, page, pages)
	f.text(pageWidth-margin, y+3.6, "R", "B", smallType, right)
	left := "Printed " + s.Printed.Format("2 January 2006, 15:04 MST")
	if s.Version != "" {
		left += " · version " + s.Version
	}
	if s.Firm != "" {
		left += " · " + s.Firm
	}
	room := inner - f.width("B", smallType, right) - 4
	f.text(margin, y+3.6, "L", "", smallType, f.shorten("", smallType, room, left))
}

// shorten cuts a line that is said in full elsewhere on the sheet.
func (f *form) shorten(style string, points, width float64, text string) string {
	lines := f.wrap(style, points, width-f.width(style, points, " …"), text)
	if len(lines) > 1 {
		return lines[0] + " …"
	}
	return text
}
