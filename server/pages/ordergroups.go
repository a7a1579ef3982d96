package pages

import (
	"slices"
	"strings"

	"tacet/jobs"
)

// orderGroups are the items of an order by group of material, folded: the title says what is in it and what is short.
func orderGroups(o jobs.Order) []officePart {
	var parts []officePart
	for _, group := range jobs.TakeOffGroups() {
		t := table{Head: []string{"order", "each", "weight", "delivered", "on hand", "short", "left over"}}
		var ordered, short amounts
		var kg float64
		for _, i := range o.Items {
			if i.Group != group {
				continue
			}
			each := dash
			if i.KgEach != nil {
				each = withUnit(decimal(*i.KgEach, 1), "kg")
			}
			t.row(jobs.Capital(i.Item), pieces(i.Ordered, i.Unit), each, weightOf(i.Kg), someOf(i.Delivered-i.Returned, i.Unit), onHand(i), someOf(i.Short, i.Unit), someOf(i.LeftOver, i.Unit))
			ordered.add(i.Ordered, i.Unit)
			short.add(i.Short, i.Unit)
			kg += i.Kg
		}
		if len(t.Rows) == 0 {
			continue
		}
		title := jobs.Capital(group) + ": " + ordered.says()
		if kg > 0 {
			title += ", " + weightOf(kg)
		}
		if s := short.says(); s != "" {
			title += "; " + s + " short"
		}
		parts = append(parts, officePart{Title: title, Closed: true, Tables: []table{t}})
	}
	return parts
}

// amounts are quantities summed by unit.
type amounts []amount

type amount struct {
	n    float64
	unit string
}

func (as *amounts) add(n float64, unit string) {
	if n == 0 {
		return
	}
	i := slices.IndexFunc(*as, func(a amount) bool { return a.unit == unit })
	if i < 0 {
		*as = append(*as, amount{n, unit})
		return
	}
	(*as)[i].n += n
}

func (as amounts) says() string {
	words := make([]string, len(as))
	for i, a := range as {
		words[i] = pieces(a.n, a.unit)
	}
	return strings.Join(words, ", ")
}

// weightOf is a weight to the whole kilogram; what the take-off knows no weight of has none, and not one of 0 kg.
func weightOf(kg float64) string {
	switch {
	case kg <= 0:
		return dash
	case kg < 1:
		return "below " + withUnit("1", "kg")
	}
	return withUnit(decimal(kg, 0), "kg")
}

// someOf is a quantity, or a dash: what there is nothing of is not to be read line by line.
func someOf(n float64, unit string) string {
	if n == 0 {
		return dash
	}
	return pieces(n, unit)
}

// onHand is what should lie there. More used than came means that a delivery was not recorded: nothing is known then.
func onHand(i jobs.OrderItem) string {
	if i.OnHand < 0 {
		return "not known"
	}
	return someOf(i.OnHand, i.Unit)
}
