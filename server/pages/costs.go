package pages

import (
	"fmt"
	"strings"

	"tacet/jobs"
	"tacet/server/drawing"
)

var _ = register(Page{Path: "/jobs/:job/s/:surface/costs-:width.svg", Roles: deciders, Get: getCosts})

// costsPart says what each open fault costs, and what putting it right is worth.
func costsPart(j *jobs.Job, s *jobs.Surface, f jobs.Forecasts) officePart {
	p := officePart{Title: "What each fault costs", Empty: "No fault is open."}
	t := table{Caption: "Differences of Rw. By itself: this fault alone. Worth: with all others as they are.", Head: []string{"costs by itself", "putting right is worth", "±", "chance now", "chance then"}}
	costs := j.Costs(s)
	for _, c := range costs {
		db := func(x *float64) string {
			if x == nil {
				return "not known"
			}
			return withUnit(decimal(*x, 1), "dB")
		}
		share := func(x *float64) string {
			if x == nil {
				return dash
			}
			return chance(*x)
		}
		t.row(faultName(c), db(c.LossDB), db(c.WorthDB), db(c.UDB), share(c.ChanceNow), share(c.ChanceThen))
		if c.LossDB == nil {
			p.Says = append(p.Says, sentence(c.Says))
		}
	}
	if t.known(); len(t.Rows) > 0 {
		p.Tables = []table{t}
	}
	if c := costsChart(costs, f); len(c.Rows) > 0 {
		p.Chart = curveChart{Base: surfacePath(j, s) + "/costs", V: len(j.Records), Alt: titleOf(c)}
	}
	return p
}

// costsChart draws what each open fault costs by itself: a bar from the value without any fault down to that with it, and how sure the
// difference is.
func costsChart(costs []jobs.DefectCost, of jobs.Forecasts) drawing.Forest {
	f := drawing.Forest{X: drawing.Axis{Words: "Rw, dB: the bar goes from the value without any fault to that with the one fault; the thin line is ± one standard uncertainty of the difference"}}
	whole := of.Installed.RwDB
	if whole == nil {
		return f
	}
	from := float64(*whole)
	var most *jobs.DefectCost
	for _, c := range costs {
		if c.LossDB == nil || c.UDB == nil {
			continue
		}
		v := from - *c.LossDB
		f.Rows = append(f.Rows, drawing.ForestRow{Words: faultName(c), Value: v, Said: true, Low: v - *c.UDB, High: v + *c.UDB, From: &from, Beside: lossWords(c)})
		if most == nil || *c.LossDB > *most.LossDB {
			most = &c
		}
	}
	if most == nil {
		return f
	}
	f.Title = fmt.Sprintf("Rw %d dB without a fault; the most is cost by %s: %s", *whole, faultName(*most), lossWords(*most))
	f.Desc = "A bar for each open fault by itself, " + jobs.Count(len(f.Rows), "bar") + ". All values are in the table."
	return f
}

func faultName(c jobs.DefectCost) string { return strings.TrimSpace(placeOf(c.On) + " " + c.Title) }

// lossWords is what a fault costs by itself, with its standard uncertainty.
func lossWords(c jobs.DefectCost) string {
	return "−" + decimal(*c.LossDB, 1) + plusMinus + withUnit(decimal(*c.UDB, 1), "dB")
}

func getCosts(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	c := costsChart(j.Costs(s), j.PredictSurface(s))
	return v.drawn(len(c.Rows) > 0, func() picturer { return c })
}
