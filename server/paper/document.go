package paper

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/skip2/go-qrcode"
)

// Head is what stands at the top and at the foot of a paper that is not a surface's own sheet.
type Head struct {
	Title   string // Handover pack
	Firm    string
	Job     string
	Site    string
	Printed time.Time // in the zone it is to be shown in
	Version string    // of the record: what this paper was printed from
	URL     string    // of the record, for the code on the first page; empty prints the bare Code
	Code    string    // readable code with its check character; empty prints none
}

// document is a paper of parts that run on from page to page.
type document struct {
	*form
	head Head
}

func newDocument(h Head) *document {
	d := &document{form: newForm(h.Printed), head: h}
	d.pdf.SetTitle(h.Title+", "+printable(h.Job), true)
	d.further = d.furtherHead
	return d
}

// codeAt puts the square code with the readable one beneath it, and says how far down it reaches.
func (d *document) codeAt(x, y float64) (float64, error) {
	payload := cmp.Or(d.head.URL, Payload("", d.head.Code))
	if payload == "" {
		return y, nil
	}
	if err := d.qr(x, y, payload, qrcode.High); err != nil {
		return y, err
	}
	points := 10.0
	if w := d.width("B", points, d.head.Code); w > qrSide {
		points *= qrSide / w
	}
	d.text(x+qrSide/2, y+qrSide+3.5, "C", "B", points, d.head.Code)
	return y + qrSide + 5, nil
}

// open begins the first page with its head; lead are sentences that stand in it.
func (d *document) open(lead ...string) error {
	d.pdf.AddPage()
	right := pageWidth - margin
	below, err := d.codeAt(right-qrSide, margin)
	if err != nil {
		return err
	}
	wide := inner
	if below > margin {
		wide -= qrSide + 8
	}
	y := d.lines(margin, margin, "B", 20, d.wrap("B", 20, wide, d.head.Title)) + 1
	y = d.lines(margin, y, "B", largeType, d.wrap("B", largeType, wide, d.head.Job)) + 0.6
	for _, line := range append([]string{join(" · ", siteOf(d.head.Job, d.head.Site), d.head.Firm)}, lead...) {
		y = d.lines(margin, y, "", plainType, d.wrap("", plainType, wide, line)) + 0.4
	}
	d.y = max(y, below) + 1.5
	d.line(stout, margin, d.y, right, d.y)
	d.y += 2
	return nil
}

// finish numbers the pages and writes the document.
func (d *document) finish(w io.Writer) error {
	pages := d.pdf.PageCount()
	for n := 1; n <= pages; n++ {
		d.pdf.SetPage(n)
		d.foot(n, pages)
	}
	d.pdf.SetPage(pages)
	if err := d.pdf.Output(w); err != nil {
		return fmt.Errorf("write %s: %w", d.head.Title, err)
	}
	return nil
}

// paragraph sets wrapped text over the whole width.
func (d *document) paragraph(style string, points float64, text string) {
	wrapped := d.wrap(style, points, inner, text)
	d.need(float64(min(len(wrapped), together)) * leading(points))
	for _, l := range wrapped {
		d.need(leading(points))
		d.y = d.lines(margin, d.y, style, points, []string{l})
	}
	d.y += 2.2
}

// Measures of lists, in mm and in lines: a short text is kept on one page, of a long one not less than some lines.
const (
	titleHigh = 12.0
	together  = 4
)

// title is the heading of a part; it never stands alone at the foot of a page.
func (d *document) title(words string) {
	d.need(2 * titleHigh)
	d.y += 3
	d.y = d.lines(margin, d.y, "B", largeType, d.wrap("B", largeType, inner, words))
	d.line(rule, margin, d.y+0.8, pageWidth-margin, d.y+0.8)
	d.y += 3
}

// list is a part with one line for each thing; nothing at all where both lines and the sentence for none are empty. A short one stays with its
// heading on one page.
func (d *document) list(title string, lines []string, none string) {
	if len(lines) == 0 && none == "" {
		return
	}
	if len(lines) == 0 {
		d.title(title)
		d.paragraph("", plainType, none)
		return
	}
	high, n := titleHigh, 0
	for _, l := range lines {
		wrapped := len(d.wrap("", plainType, inner-bulletWide, l))
		if n += wrapped; n > 2*together {
			break
		}
		high += float64(wrapped)*leading(plainType) + 0.8
	}
	d.need(high)
	d.title(title)
	d.bullets(margin, inner, lines)
	d.y += 1
}

// bulletWide is how far a list is set in, in mm.
const bulletWide = 4.5

// bullets sets lines with a dash before each. One of few lines is not torn apart.
func (d *document) bullets(left, wide float64, lines []string) {
	for _, line := range lines {
		wrapped := d.wrap("", plainType, wide-bulletWide, line)
		d.need(float64(min(len(wrapped), together)) * leading(plainType))
		for i, l := range wrapped {
			d.need(leading(plainType))
			if i == 0 {
				d.text(left, d.y+plainType*mmPerPoint, "L", "", plainType, "–")
			}
			d.y = d.lines(left+bulletWide, d.y, "", plainType, []string{l})
		}
		d.y += 0.8
	}
}

// furtherHead is the head of every further page.
func (d *document) furtherHead() {
	room := inner / 2
	d.text(margin, d.y+3.2, "L", "B", smallType, d.head.Title)
	d.text(pageWidth-margin, d.y+3.2, "R", "", smallType, d.shorten("", smallType, room, cmp.Or(d.head.Job, d.head.Site)))
	d.y += 5
	d.line(rule, margin, d.y, pageWidth-margin, d.y)
	d.y += 3
}

// foot is the foot of a page.
func (d *document) foot(page, pages int) {
	y := pageHeight - margin - 4
	d.line(hair, margin, y, pageWidth-margin, y)
	d.text(pageWidth-margin, y+3.6, "R", "B", smallType, fmt.Sprintf("page %d of %d", page, pages))
	left := join(" · ", "Printed "+d.head.Printed.Format("2 January 2006, 15:04 MST"), d.head.Version, d.head.Firm)
	d.text(margin, y+3.6, "L", "", smallType, d.shorten("", smallType, inner-30, left))
}

// siteOf is the site without the job's name, where it begins with it.
func siteOf(job, site string) string {
	if rest, ok := strings.CutPrefix(site, job); ok {
		return strings.TrimLeft(rest, ",.;: ")
	}
	return site
}

// whereabouts names a job and its site, and what begins both only once.
func whereabouts(job, site string) string {
	if strings.HasPrefix(site, job) {
		return site
	}
	return join(", ", job, site)
}
