package main

import (
	"cmp"
	"fmt"
	"io"

	"tacet/client/home"
	"tacet/jobs"
)

type calcTakeoffCmd struct{}

// Run takes off the surface on standard input.
func (calcTakeoffCmd) Run(s stdio) error { return calculate(s, jobs.TakeOffInput.TakeOff) }

type takeoffCmd struct {
	Job  string `arg:"" help:"Id, or a part of the name that fits no other job."`
	CSV  bool   `name:"csv" xor:"as" help:"As CSV, with units in the header, to order from."`
	JSON bool   `name:"json" xor:"as" help:"As JSON."`
}

// Run takes off the whole job, against what was delivered.
func (c *takeoffCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		j, err := h.Job(s.ctx, c.Job)
		if err != nil {
			return err
		}
		firm, err := h.FirmFacts(s.ctx)
		if err != nil {
			return err
		}
		order := j.OrderOf(firm)
		switch {
		case c.CSV:
			return order.WriteCSV(s.Out)
		case c.JSON:
			return s.writeJSON(order)
		}
		return showOrder(s.Out, order)
	})
}

// showOrder prints the order for people: what to order, what lies where, what is short.
func showOrder(out io.Writer, o jobs.Order) error {
	p := &printer{w: out}
	p.line("%s: %.0f kg in all", o.Name, o.KgTotal)
	p.columns(func(w io.Writer) {
		for _, i := range o.Items {
			each := ""
			if i.KgEach != nil {
				each = fmt.Sprintf("%.1f kg each", *i.KgEach)
			}
			fmt.Fprintf(w, "    %s\t%s %s\t%s\t%.0f kg%s\n", i.Item, quantity(i.Ordered), i.Unit, each, i.Kg, onSite(i))
		}
	})
	for _, s := range o.Surfaces {
		for _, st := range s.TakeOff.Stacks {
			p.line("%s layer %d: at most %d sheets in a stack (%.0f kg/m² and %.0f mm; %s); ask where the floor may carry one", s.Code, st.Layer, st.Sheets, st.KgM2, st.MM, st.Source)
		}
		for _, n := range s.TakeOff.Notes {
			p.line("%s: %s", s.Code, n)
		}
	}
	if o.Price != nil {
		for _, m := range o.Price.Totals {
			p.line("by the price list: %.2f %s", m.Amount, m.Currency)
		}
		for _, u := range o.Price.Unpriced {
			p.line("no price for: %s", u)
		}
		for _, v := range o.Price.Variations {
			p.line("variations, paid by %s: %.2f %s", v.Pays, v.Amount, v.Currency)
		}
	}
	for _, c := range o.OpenCautions {
		p.line("open: %s, %s: %s It is for %s (%s).", c.Surface, c.Code, c.Asks, c.Who, cmp.Or(c.Again, c.Why))
	}
	for _, n := range o.Notes {
		p.line("%s", n)
	}
	return p.err
}

// onSite says what is here and what is missing, once something was delivered.
func onSite(i jobs.OrderItem) string {
	if i.Delivered == 0 && i.Returned == 0 {
		return ""
	}
	says := fmt.Sprintf("\tdelivered %s, returned %s", quantity(i.Delivered), quantity(i.Returned))
	if i.Short > 0 {
		says += ", short " + quantity(i.Short)
	}
	if i.LeftOver > 0 {
		says += ", left over " + quantity(i.LeftOver)
	}
	return says
}

func quantity(v float64) string { return fmt.Sprintf("%.6g", v) }
