package pages

import (
	"fmt"
	"slices"

	"tacet/jobs/outcomes"
)

// table is a table of figures: a name to a row, and what each cell is, which a phone shows beside it.
type table struct {
	Caption string
	Head    []string
	Rows    []tableRow
}

type tableRow struct {
	Name  string
	Cells []tableCell
}

type tableCell struct{ Is, Says string }

// Long tells that a cell holds words, which may wrap, and no figure with its unit, which may not.
func (c tableCell) Long() bool { return len(c.Says) > 24 }

// row adds a row; cells stand in the order of the head.
func (t *table) row(name string, cells ...string) {
	r := tableRow{Name: name}
	for i, c := range cells {
		r.Cells = append(r.Cells, tableCell{t.Head[i], c})
	}
	t.Rows = append(t.Rows, r)
}

// known leaves out the columns that no row has a value in, and the rows that have none.
func (t *table) known() {
	has := make([]bool, len(t.Head))
	t.Rows = slices.DeleteFunc(t.Rows, func(r tableRow) bool {
		empty := true
		for i, c := range r.Cells {
			if c.Says != dash {
				has[i], empty = true, false
			}
		}
		return empty
	})
	var head []string
	for i, h := range t.Head {
		if has[i] {
			head = append(head, h)
		}
	}
	for n, r := range t.Rows {
		var cells []tableCell
		for i, c := range r.Cells {
			if has[i] {
				cells = append(cells, c)
			}
		}
		t.Rows[n].Cells = cells
	}
	t.Head = head
}

// rateHead are the columns of a rate.
func rateHead(events string) []string {
	return []string{events, "share", "95 % (Wilson)", "95 % (exact)", "nothing heard after handover"}
}

// rateCells are a rate in columns. With fewer than five jobs no share is said.
func rateCells(r outcomes.Rate) []string {
	share := "too few to say"
	if r.Share != nil {
		share = shareWords(*r.Share)
	}
	return []string{fmt.Sprintf("%d of %d", r.Events, r.N), share, shareRange(r.Wilson), shareRange(r.Exact), itoa(r.Unknown)}
}

func shareWords(v float64) string {
	if v > 0.0995 && v < 0.9005 || v == 0 || v == 1 {
		return withUnit(decimal(100*v, 0), "%")
	}
	return withUnit(decimal(100*v, 1), "%")
}

func shareRange(i outcomes.Interval) string { return shareWords(i.Low) + " to " + shareWords(i.High) }

// signed writes a difference with its sign, to one decimal.
func signed(v float64) string {
	s := fmt.Sprintf("%+.1f", v)
	if s == "-0.0" || s == "+0.0" {
		return "0.0"
	}
	if s[0] == '-' {
		return "−" + s[1:]
	}
	return s
}

func signedDB(v float64) string { return withUnit(signed(v), "dB") }

func signedRange(i outcomes.Interval, unit string) string {
	return signed(i.Low) + " to " + withUnit(signed(i.High), unit)
}

// chartView is where a chart is drawn, and its result in words.
type chartView struct {
	Base string
	Alt  string
}
