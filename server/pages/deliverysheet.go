package pages

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/server/paper"
)

func getDelivery(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	firm, err := v.firm()
	if err != nil {
		return err
	}
	return v.pdf(j.Name+" delivery", func(w io.Writer) error { return paper.WriteDelivery(w, DeliverySheet(j, firm, v.sheetOptions())) })
}

// DeliverySheet is what goes with the material: what is still to come of the order, with weights, and what came so far.
func DeliverySheet(j *jobs.Job, firm jobs.Firm, opt SheetOptions) paper.Delivery {
	o := j.OrderOf(firm)
	d := paper.Delivery{Head: paperHead("Delivery sheet", j, opt)}
	if len(j.Surfaces) > 1 {
		d.Code, d.URL = "", "" // it is about no surface in particular
	}
	var kg float64
	var here []string
	for _, i := range o.Items {
		if i.Short <= 0 {
			here = append(here, jobs.Lower(i.Item))
			continue
		}
		line := paper.DeliveryItem{What: jobs.Capital(i.Item), For: forLayers(i), ToCome: pieces(i.Short, i.Unit)}
		if i.KgEach != nil {
			line.KgEach = withUnit(decimal(*i.KgEach, 1), "kg")
			kg += *i.KgEach * i.Short
		}
		line.Stack, line.Carry = stackAndCarry(o, i)
		d.Items = append(d.Items, line)
	}
	if len(here) > 0 {
		d.Here = "Nothing more is to come of: " + strings.Join(here, "; ") + "."
	}
	if kg > 0 {
		d.Total = "about " + withUnit(decimal(kg, 0), "kg") + ", without what has no weight above"
	}
	seen := map[string]bool{}
	for _, s := range o.Surfaces {
		for _, k := range s.TakeOff.Stacks {
			says := fmt.Sprintf("Not more than %s and %s to a stack: %s.", withUnit(decimal(k.KgM2, 0), "kg/m²"), withUnit(decimal(k.MM, 0), "mm"), k.Source)
			if !seen[says] {
				seen[says] = true
				d.Stacks = append(d.Stacks, says)
			}
		}
	}
	if len(d.Stacks) > 0 {
		d.Stacks = append(d.Stacks, "What this building's floor carries is another question: on an old floor ask first, stack across the joists and along a bearing wall.")
	}
	for _, rule := range jobs.CheckRules() {
		if rule.Stage == "delivery" {
			d.Checks = append(d.Checks, rule.Code+": "+sentence(rule.Accept)+" "+sentence(rule.How))
		}
	}
	d.Checks = append(d.Checks, "Photograph the print on the edge of the first sheet of every stack.")
	for _, m := range o.Deliveries {
		says := opt.day(m.At) + ": " + pieces(m.Quantity, m.Unit) + " " + m.Material
		if m.As != "" {
			says += ", " + pieces(m.Counts, m.As) + ","
		}
		if m.Surface != "" {
			says += " for " + m.Surface
			if m.Layer > 0 {
				says += fmt.Sprintf(" layer %d", m.Layer)
			}
		}
		d.Before = append(d.Before, says+".")
	}
	for _, c := range o.OpenCautions {
		// A question that is open for several surfaces is asked once: this sheet is about what comes.
		if says := jobs.Capital(c.Code) + ": " + c.Asks + " For " + c.Who + "."; !slices.Contains(d.Cautions, says) {
			d.Cautions = append(d.Cautions, says)
		}
	}
	return d
}

// day is the date of a time of the record, as papers say it.
func (opt SheetOptions) day(at string) string {
	t, err := time.Parse(time.RFC3339, at)
	if err != nil {
		return at
	}
	zone := opt.Zone
	if zone == nil {
		zone = time.UTC
	}
	return t.In(zone).Format("2 January 2006")
}

// forLayers says where an item goes: "C1 layers 3, 5; W1 layer 4".
func forLayers(i jobs.OrderItem) string {
	var codes []string
	layers := map[string][]string{}
	for n, code := range i.Surfaces {
		if !slices.Contains(codes, code) {
			codes = append(codes, code)
		}
		if l := i.Layers[n]; l > 0 {
			layers[code] = append(layers[code], itoa(l))
		}
	}
	for n, code := range codes {
		switch ls := layers[code]; len(ls) {
		case 0:
		case 1:
			codes[n] += " layer " + ls[0]
		default:
			codes[n] += " layers " + strings.Join(ls, ", ")
		}
	}
	return strings.Join(codes, "; ")
}

// stackAndCarry finds how an item of the order is stacked and carried: the strictest of the layers it goes to.
func stackAndCarry(o jobs.Order, i jobs.OrderItem) (stack, carry string) {
	least := 0
	two, lifter := false, false
	for _, s := range o.Surfaces {
		for _, t := range s.TakeOff.Items {
			if t.Item != i.Item || t.Unit != i.Unit {
				continue
			}
			two, lifter = two || t.TwoPeople, lifter || t.Lifter
			for _, k := range s.TakeOff.Stacks {
				if i.Unit == "sheet" && k.Layer == t.Layer && (least == 0 || k.Sheets < least) {
					least = k.Sheets
				}
			}
		}
	}
	if least > 0 {
		stack = jobs.Count(least, "sheet")
	}
	switch {
	case lifter:
		carry = "Two people, lifter"
	case two:
		carry = "Two people"
	}
	return stack, carry
}
