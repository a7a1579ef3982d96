package paper

import (
	"bytes"
	"cmp"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"strconv"

	"codeberg.org/go-pdf/fpdf"
	"github.com/disintegration/imaging"
)

// Columns of the as-built table, in mm.
var builtColumns = []struct {
	title string
	wide  float64
	right bool
	pad   float64 // before what stands to the left
}{
	{"", 8, false, 1.2}, {"specified", 58, false, 1.2}, {"mm", 10, true, 0}, {"kg/m²", 12, true, 0}, {"installed", 60, false, 3}, {"mm", 10, true, 0}, {"kg/m²", 12, true, 0}, {"state", 16, false, 1.2},
}

// surface is the as-built sheet of a surface. It stands below what is on the page already where all of it but the photos fits there, else on a
// page of its own.
func (d *packForm) surface(s PackSurface) error {
	if onPage := d.y; d.fits(func(trial *packForm) { trial.y = onPage; trial.built(s, true) }) {
		d.built(s, true)
	} else {
		d.pdf.AddPage()
		d.y = margin
		d.furtherHead()
		d.built(s, false)
	}
	return d.photos(s.Photos)
}

// fits tells whether what is drawn stays on one page.
func (d *packForm) fits(draw func(*packForm)) bool {
	if d.trial == nil {
		d.trial = &packForm{document: newDocument(d.head), pack: d.pack}
	}
	d.trial.pdf.AddPage()
	before := d.trial.pdf.PageCount()
	draw(d.trial)
	return d.trial.pdf.PageCount() == before
}

// built is the sheet without its photos; below tells that something stands above it.
func (d *packForm) built(s PackSurface, below bool) {
	if below {
		d.y += 4
		d.line(stout, margin, d.y, pageWidth-margin, d.y)
		d.y += 4
	}
	top := d.y
	d.text(margin, top+13*capsHeight, "L", "B", 36, s.Surface)
	left := margin + d.width("B", 36, s.Surface) + 6
	y := d.lines(left, top, "B", largeType, d.wrap("B", largeType, pageWidth-margin-left, s.Name))
	y = d.lines(left, y+0.5, "", plainType, d.wrap("", plainType, pageWidth-margin-left, join(", ", s.Kind, s.Size, "as built")))
	d.y = max(y, top+13) + 3
	d.sheet.Section = s.Section
	d.section()
	d.builtTable(s)
	for _, line := range s.Says {
		d.paragraph("", plainType, line)
	}
}

func (d *packForm) builtTable(s PackSurface) {
	if len(s.Layers) == 0 {
		return // the drawing says so
	}
	d.heading = d.builtHeading
	defer func() { d.heading = nil }()
	d.need(24)
	d.builtHeading()
	for _, l := range s.Layers {
		d.builtRow(l)
	}
	d.heading = nil
	d.need(16)
	d.y += 1.2
	begun, fitted := false, 0.0
	for _, l := range s.Layers {
		begun, fitted = begun || l.Installed != "", fitted+l.AchievedMM
	}
	base, x := d.y+plainType*mmPerPoint, margin
	for i, words := range []string{"", "added in all", mmOf(s.ThicknessMM), kgOf(s.SpecifiedKgM2), "", mmOf(fitted), kgOf(s.AchievedKgM2)} {
		if c := builtColumns[i]; c.right {
			d.text(x+c.wide-1.5, base, "R", "B", plainType, words)
		} else {
			d.text(x+c.pad, base, "L", "B", plainType, words)
		}
		x += builtColumns[i].wide
	}
	d.y += 6
	if !begun {
		d.paragraph("", plainType, fmt.Sprintf("Nothing of it is in place yet; %s kg/m² specified. Added load %.2f kN/m² when it is finished.", kgOf(s.SpecifiedKgM2), s.LoadKNM2))
		return
	}
	change := ""
	if diff := s.AchievedKgM2 - s.SpecifiedKgM2; s.SpecifiedKgM2 > 0 && math.Abs(diff) > 0.05 {
		change = fmt.Sprintf(", %+.1f kg/m² or %+.0f %%", diff, 100*diff/s.SpecifiedKgM2)
	}
	d.paragraph("", plainType, fmt.Sprintf("Achieved %s kg/m² of %s kg/m² specified%s. Added load %.2f kN/m² when it is finished.", kgOf(s.AchievedKgM2), kgOf(s.SpecifiedKgM2), change, s.LoadKNM2))
}

func (d *packForm) builtHeading() {
	x := margin
	for _, c := range builtColumns {
		if c.right {
			d.text(x+c.wide-1.5, d.y+3.4, "R", "B", smallType, c.title)
		} else {
			d.text(x+c.pad, d.y+3.4, "L", "B", smallType, c.title)
		}
		x += c.wide
	}
	d.y += 4.8
	d.line(stout, margin, d.y, pageWidth-margin, d.y)
}

func (d *packForm) builtRow(l PackLayer) {
	specified := d.wrap("", plainType, builtColumns[1].wide-2.4, l.Specified)
	installed := d.wrap("", plainType, builtColumns[4].wide-builtColumns[4].pad-1.2, cmp.Or(l.Installed, "–"))
	style, state := "", l.State
	if l.Unseen {
		style = "B"
	}
	states := d.wrap(style, smallType, builtColumns[7].wide-1.6, state)
	if l.Installed != "" && l.Share < 1 {
		states = append(states, d.wrap("", smallType, builtColumns[7].wide-1.6, fmt.Sprintf("%.0f %% in place", l.Share*100))...)
	}
	high := 2.4 + max(leading(plainType)*float64(max(len(specified), len(installed))), leading(smallType)*float64(len(states)))
	high = max(high, 7)
	d.need(high)
	top, x := d.y, margin
	base := top + 1.2 + plainType*mmPerPoint
	for i, c := range builtColumns {
		switch i {
		case 0:
			d.text(x+c.wide/2, base, "C", "B", plainType+1, strconv.Itoa(l.N))
		case 1:
			d.lines(x+1.2, top+1.2, "", plainType, specified)
		case 2:
			d.text(x+c.wide-1.5, base, "R", "", plainType, mmOf(l.SpecifiedMM))
		case 3:
			d.text(x+c.wide-1.5, base, "R", "", plainType, kgOf(l.SpecifiedKgM2))
		case 4:
			d.lines(x+c.pad, top+1.2, "", plainType, installed)
		case 5:
			d.text(x+c.wide-1.5, base, "R", "", plainType, mmOf(l.AchievedMM))
		case 6:
			d.text(x+c.wide-1.5, base, "R", "", plainType, kgOf(l.AchievedKgM2))
		case 7:
			d.lines(x+0.8, top+1.4, style, smallType, states)
		}
		x += c.wide
	}
	d.y = top + high
	d.line(hair, margin, d.y, pageWidth-margin, d.y)
}

func kgOf(v float64) string { return oneDecimal(v) }
func mmOf(v float64) string { return oneDecimal(v) }

// oneDecimal writes a quantity of a table to one decimal, a dash for none.
func oneDecimal(v float64) string {
	if v <= 0 {
		return "–"
	}
	return strconv.FormatFloat(v, 'f', 1, 64)
}

// Measures of photos, in mm: two in a row, no higher than wide.
const (
	photoGap  = 6.0
	photoWide = (inner - photoGap) / 2
	photoHigh = 58.0
)

// photos prints what is hidden now, two in a row, each with what it shows. A photo that is not here yet leaves its frame,
// so that nobody takes it for one that was never taken.
func (d *packForm) photos(photos []PackPhoto) error {
	d.y += 1
	for i := 0; i < len(photos); i += 2 {
		pair := photos[i:min(i+2, len(photos))]
		high := 0.0
		captions := make([][]string, len(pair))
		for k, p := range pair {
			captions[k] = d.wrap("", smallType, photoWide, p.Caption)
			high = max(high, float64(len(captions[k]))*leading(smallType))
		}
		d.need(photoHigh + high + 4)
		for k, p := range pair {
			x := margin + float64(k)*(photoWide+photoGap)
			if err := d.photo(x, p); err != nil {
				return err
			}
			d.lines(x, d.y+photoHigh+1, "", smallType, captions[k])
		}
		d.y += photoHigh + high + 4
	}
	return nil
}

func (d *packForm) photo(x float64, p PackPhoto) error {
	if len(p.JPEG) == 0 {
		d.frame(rule, x, d.y, photoWide, photoHigh)
		d.text(x+photoWide/2, d.y+photoHigh/2, "C", "", plainType, cmp.Or(p.Erased, "not on this device yet"))
		return nil
	}
	small, err := d.forPrint(p)
	if err != nil {
		return err
	}
	wide, high := photoWide, photoWide*float64(small.Bounds().Dy())/float64(small.Bounds().Dx())
	if high > photoHigh {
		wide, high = photoHigh*float64(small.Bounds().Dx())/float64(small.Bounds().Dy()), photoHigh
	}
	var data bytes.Buffer
	if err := jpeg.Encode(&data, small, &jpeg.Options{Quality: 80}); err != nil {
		return fmt.Errorf("photo %q: %w", p.Caption, err)
	}
	name := "photo " + strconv.Itoa(d.printed)
	options := fpdf.ImageOptions{ImageType: "JPEG"}
	d.pdf.RegisterImageOptionsReader(name, options, &data)
	d.pdf.ImageOptions(name, x, d.y+(photoHigh-high), wide, high, false, options, 0, "")
	if err := d.pdf.Error(); err != nil {
		return fmt.Errorf("photo %q: %w", p.Caption, err)
	}
	return nil
}

// printWidth is the width of a printed photo in pixels: 210 for each inch.
const printWidth = 720

// maxPhotoPixels is what a photo may have before it is made smaller, more than any phone takes.
const maxPhotoPixels = 50_000_000

// forPrint makes a photo as small as paper needs it. Each gets a width of its own, a pixel more than the last: the PDF
// library orders pictures by their width alone, and two of one width would come in any order.
func (d *packForm) forPrint(p PackPhoto) (image.Image, error) {
	size, format, err := image.DecodeConfig(bytes.NewReader(p.JPEG))
	if err != nil || format != "jpeg" || size.Width < 1 || size.Height < 1 || size.Width*size.Height > maxPhotoPixels {
		return nil, fmt.Errorf("photo %q: no JPEG picture that can be printed", p.Caption)
	}
	img, err := imaging.Decode(bytes.NewReader(p.JPEG))
	if err != nil {
		return nil, fmt.Errorf("photo %q: %w", p.Caption, err)
	}
	d.printed++
	return imaging.Resize(img, printWidth+d.printed, 0, imaging.Linear), nil
}
