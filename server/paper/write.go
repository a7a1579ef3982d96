package paper

import (
	"fmt"
	"io"
	"time"
)

// Write prints the sheets into one PDF, each surface from a page of its own, its pages numbered by themselves. The document's own
// time is the first sheet's, so that the same sheets give the same bytes.
func Write(w io.Writer, sheets []Sheet) error {
	var printed time.Time
	if len(sheets) > 0 {
		printed = sheets[0].Printed
	}
	f := newForm(printed)
	f.pdf.SetTitle("Site sheets", true)
	if len(sheets) == 0 {
		f.pdf.AddPage()
		f.text(margin, margin+6, "L", "", plainType, "There is no surface to print.")
	}
	for _, s := range sheets {
		if err := f.print(s); err != nil {
			return err
		}
	}
	if err := f.pdf.Output(w); err != nil {
		return fmt.Errorf("write site sheets: %w", err)
	}
	return nil
}

// print lays out one surface and then, when its pages are counted, the feet of them.
func (f *form) print(s Sheet) error {
	f.sheet, f.heading = s, nil
	f.pdf.AddPage()
	first := f.pdf.PageNo()
	if err := f.header(); err != nil {
		return err
	}
	f.section()
	f.layerTable()
	f.totals()
	f.checkTable()
	f.closing()
	last := f.pdf.PageNo()
	for page := first; page <= last; page++ {
		f.pdf.SetPage(page)
		f.foot(page-first+1, last-first+1)
	}
	f.pdf.SetPage(last)
	return nil
}
