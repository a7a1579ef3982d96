package pages

import (
	"fmt"
	"slices"

	"tacet/jobs"
)

// liftingPart says what is heavy, what is fixed with a lifter, and how high sheets may be stacked: one line for each kind of
// thing, with the places where it is needed.
func liftingPart(o jobs.Order) officePart {
	p := officePart{Title: "Carrying and stacking", Empty: "Nothing needs two people, a lifter or a limit of stacking."}
	for _, i := range o.Items {
		if r, ok := liftingRow(o, i); ok {
			p.Rows = append(p.Rows, r)
		}
	}
	for _, s := range o.Surfaces {
		if k := s.TakeOff.Stacks; len(k) > 0 && len(p.Lead) == 0 { // the limits are the firm's, the same for all
			p.Lead = []string{fmt.Sprintf("Stacks of at most %s and %s high: %s. A usual limit; what this building's floor carries is another question, on an old floor ask first.",
				withUnit(decimal(k[0].KgM2, 0), "kg/m²"), withUnit(decimal(k[0].MM, 0), "mm"), k[0].Source)}
		}
		if c := s.TakeOff.ClipLoad; c != nil {
			p.Says = append(p.Says, s.Code+": "+withUnit(decimal(*c, 1), "kg")+" on an inner clip. Compare it with its data sheet.")
		}
	}
	return p
}

// liftingRow is the line of one item of the order, if there is anything to mind about it.
func liftingRow(o jobs.Order, i jobs.OrderItem) (officeRow, bool) {
	var places, overhead []string
	heavy, stack := false, 0
	for _, s := range o.Surfaces {
		for _, t := range s.TakeOff.Items {
			if t.Item != i.Item || t.Unit != i.Unit {
				continue
			}
			heavy = heavy || t.TwoPeople
			if t.Lifter && !slices.Contains(overhead, s.Code) {
				overhead = append(overhead, s.Code)
			}
			for _, k := range s.TakeOff.Stacks {
				if k.Layer == t.Layer && t.Group == jobs.GroupBoards {
					stack = k.Sheets
				}
			}
			places = append(places, fmt.Sprintf("%s layer %d", s.Code, t.Layer))
		}
	}
	if !heavy && len(overhead) == 0 && stack == 0 {
		return officeRow{}, false
	}
	says := ""
	if i.KgEach != nil {
		says = withUnit(decimal(*i.KgEach, 1), "kg") + " each. "
	}
	if heavy {
		says += "Two people or an aid. "
	}
	if len(overhead) > 0 {
		says += "Fixed overhead on " + jobs.JoinWords(overhead) + ": book a lifter. "
	}
	if stack > 0 {
		says += fmt.Sprintf("At most %s to a stack. ", jobs.Count(stack, i.Unit))
	}
	return officeRow{Name: jobs.Capital(i.Item), Says: []string{says + "For " + jobs.JoinWords(places) + "."}}, true
}
