package paper

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"
)

// Measures of the first page's head, in mm.
const (
	codeHigh   = 24.0 // the surface's code, read from across the room
	codeWide   = 58.0
	qrSide     = 35.0 // overall, the quiet zone included: read at arm's length
	capsHeight = 0.72 // of the type's size: how high its capitals stand
)

// header is the first page's head: the surface's code, whose it is, and the code to scan.
func (f *form) header() error {
	s := f.sheet
	top := margin
	points := codeHigh / capsHeight / mmPerPoint
	if w := f.width("B", points, s.Surface); w > codeWide {
		points *= codeWide / w
	}
	f.text(margin, top+points*mmPerPoint*capsHeight+1, "L", "B", points, s.Surface)
	left := margin + min(codeWide, f.width("B", points, s.Surface)) + 6
	right := pageWidth - margin - qrSide - 3 // clear of the code's quiet zone
	y := f.lines(left, top, "B", largeType, f.wrap("B", largeType, right-left, s.Name))
	y += 1
	for _, line := range []string{join(", ", s.Kind, s.Size), s.Room, s.Job, siteOf(s.Job, s.Site), s.Firm} {
		y = f.lines(left, y, "", plainType, f.wrap("", plainType, right-left, line)) + 0.4
	}
	payload := s.URL
	if payload == "" {
		payload = Payload("", s.Code)
	}
	below := top
	if payload != "" {
		if err := f.qr(pageWidth-margin-qrSide, top, payload, qrcode.High); err != nil {
			return err
		}
		below = top + qrSide
		points := 12.0
		if w := f.width("B", points, s.Code); w > qrSide {
			points *= qrSide / w
		}
		f.text(pageWidth-margin-qrSide/2, below+3.5, "C", "B", points, s.Code)
		below += 5
	}
	f.y = max(y, below, top+codeHigh+4) + 1.5
	f.line(stout, margin, f.y, pageWidth-margin, f.y)
	f.y += 2
	return nil
}

// qr draws the code as squares.
func (f *form) qr(x, y float64, text string, level qrcode.RecoveryLevel) error {
	squares, err := modules(text, level)
	if err != nil {
		return fmt.Errorf("surface %s: %w", f.sheet.Surface, err)
	}
	side := qrSide / float64(len(squares))
	f.pdf.SetFillColor(0, 0, 0)
	const overlap = 0.01 // so that no viewer shows a white seam between rows
	for _, r := range runs(squares) {
		f.pdf.Rect(x+float64(r.x)*side, y+float64(r.y)*side, float64(r.n)*side, side+overlap, "F")
	}
	return nil
}

// furtherHeader is the head of every further page of a surface.
func (f *form) furtherHeader() {
	s := f.sheet
	f.text(margin, f.y+7, "L", "B", 24, s.Surface)
	left := margin + f.width("B", 24, s.Surface) + 4
	codeWidth := f.width("B", plainType, s.Code)
	f.text(pageWidth-margin, f.y+3.5, "R", "B", plainType, s.Code)
	room := pageWidth - margin - codeWidth - 4 - left
	f.text(left, f.y+3.5, "L", "B", plainType, f.shorten("B", plainType, room, s.Name))
	f.text(left, f.y+7.5, "L", "", smallType, f.shorten("", smallType, room, join(", ", s.Room, whereabouts(s.Job, s.Site))))
	f.y += 9.5
	f.line(stout, margin, f.y, pageWidth-margin, f.y)
	f.y += 2
}

// join joins what is not empty.
func join(by string, parts ...string) string {
	var kept []string
	for _, p := range parts {
		if strings.TrimSpace(p) != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, by)
}
