package jobs

import (
	"encoding/csv"
	"fmt"
	"io"
)

// WriteCSV writes the order as a table: lines as RFC 4180 has them, units in the header. Text that a spreadsheet would take
// for a formula is marked as text.
func (o Order) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	head := []string{"surface", "layer", "item", "quantity", "unit", "kg each (kg)", "weight (kg)", "net", "net unit", "two people or an aid", "lifter"}
	lines := [][]string{head}
	for _, s := range o.Surfaces {
		for _, i := range s.TakeOff.Items {
			layer, each := "", ""
			if i.Layer > 0 {
				layer = itoa(i.Layer)
			}
			if i.KgEach != nil {
				each = plain(*i.KgEach)
			}
			lines = append(lines, []string{Cell(s.Code), layer, Cell(i.Item), plain(i.Quantity), Cell(i.Unit), each, plain(i.Kg), plain(i.Net), Cell(i.NetUnit), yes(i.TwoPeople), yes(i.Lifter)})
		}
	}
	if err := out.WriteAll(lines); err != nil {
		return fmt.Errorf("write order as CSV: %w", err)
	}
	return nil
}

// plain writes a number to three decimals, for a spreadsheet.
func plain(v float64) string { return trim(round3(v)) }

func yes(v bool) string {
	if v {
		return "yes"
	}
	return ""
}
