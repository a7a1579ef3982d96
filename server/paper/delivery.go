package paper

import (
	"cmp"
	"io"
)

// Delivery is the sheet that goes with material to the site: what is to come, how it is carried and stacked, and boxes for
// what arrived.
type Delivery struct {
	Head
	Items []DeliveryItem
	// Total is the weight of what is to come, in words with its unit.
	Total    string
	Here     string   // what no more is to come of, a sentence
	Stacks   []string // where and how high sheets may lie, a sentence each
	Before   []string // deliveries so far, a line each
	Checks   []string // what to look at before it is unloaded, a sentence each
	Cautions []string
}

// DeliveryItem is one line: numbers in words with their unit, as they are printed.
type DeliveryItem struct {
	What, For, ToCome, KgEach, Stack, Carry string
}

var deliveryColumns = []column{
	{title: "what, and for which layer", wide: 58}, {title: "to come", wide: 19, right: true}, {title: "a piece", wide: 15, right: true},
	{title: "to a stack, at most", wide: 18, right: true}, {title: "carried by", wide: 20, bold: true}, {title: "arrived", wide: 17, write: true}, {title: "as ordered", wide: 15, box: true}, {title: "batch, print on edge", wide: 24, write: true},
}

// deliveryRow is the height of a row, enough for a pen in a gloved hand.
const deliveryRow = 10.0

// spareRows are lines for what comes unasked.
const spareRows = 4

// WriteDelivery prints the sheet.
func WriteDelivery(w io.Writer, s Delivery) error {
	s.Title = cmp.Or(s.Title, "Delivery sheet")
	d := newDocument(s.Head)
	if err := d.open("Fill in while it is unloaded. What is not as ordered goes back, or waits until the supervisor has answered."); err != nil {
		return err
	}
	d.fields(blankField{label: "delivered on", share: 1.2}, blankField{label: "by whom, note no.", share: 2}, blankField{label: "weather", share: 1.2}, blankField{label: "board dry: yes or no", share: 1})
	d.y += 2
	var rows [][]string
	for _, i := range s.Items {
		rows = append(rows, []string{join(" · ", i.What, i.For), i.ToCome, i.KgEach, i.Stack, i.Carry})
	}
	for range spareRows {
		rows = append(rows, nil)
	}
	d.grid(deliveryColumns, rows, deliveryRow)
	if s.Total != "" {
		d.y += 1
		d.paragraph("B", plainType, "To come in all: "+s.Total+".")
	}
	if s.Here != "" {
		d.paragraph("", plainType, s.Here)
	}
	d.list("Delivered so far", s.Before, "")
	d.list("Stacking", s.Stacks, "")
	d.list("Cautions", s.Cautions, "")
	d.list("Look before it is unloaded", s.Checks, "")
	const lines = 4
	d.need(9 + ruledHigh(lines) + 2 + fieldHigh + signHigh) // what was found wrong is signed where it stands
	d.subtitle("Shortages, damage, what is not as ordered")
	d.ruled("what, how many, photo taken, who was told", lines)
	d.y += 2
	d.fields(blankField{label: "stacked where", share: 3}, blankField{label: "sheets to a stack", share: 1}, blankField{label: "taken back", share: 2})
	d.signatures("received by", "date, time", "typed in by", "date")
	return d.finish(w)
}
