package pages

import (
	"bytes"
	"fmt"
	"strings"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "office", Path: "/jobs/:job/take-off", Roles: deciders, Get: getTakeOff, View: officeView{}})
	_ = register(Page{Path: "/jobs/:job/take-off.csv", Roles: deciders, Get: getTakeOffCSV})
	_ = register(Page{Name: "office", Path: "/jobs/:job/quotes", Roles: deciders, Get: getQuotes, View: officeView{}, Looks: "the quotes of a job"})
	_ = registerDeed(deed{path: "/jobs/:job/quote", roles: deciders, do: "quote", ask: askQuote, to: toQuotes})
	_ = registerDeed(deed{path: "/jobs/:job/s/:surface/quote", roles: deciders, do: "quote", ask: askQuote, edge: onThisSurface, to: toQuotes})
	_ = registerDeed(deed{path: "/jobs/:job/return", roles: everybody, do: "return", ask: askReturn, to: toTakeOff})
)

func toQuotes(on spot) string { return jobPath(on.j) + "/quotes" }

// toTakeOff goes where the stock stands; a fitter, who does not order, goes back to the job.
func toTakeOff(on spot) string {
	if (Page{Roles: deciders}).MayOpen(on.v.who.Role) {
		return jobPath(on.j) + "/take-off"
	}
	return jobPath(on.j)
}

func getTakeOff(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	firm, err := v.firm()
	if err != nil {
		return err
	}
	o := j.OrderOf(firm)
	base := jobPath(j)
	view := officeView{Where: whereJob(j), Answer: fmt.Sprintf("%s to order, %s in all.", jobs.Count(len(o.Items), "item"), withUnit(decimal(o.KgTotal, 0), "kg"))}
	if len(o.Items) == 0 {
		view.Answer, view.Do = "Nothing is specified: there is nothing to order.", nextStep(j)
		view.frame = v.frame("Take-off: " + j.Name)
		return v.show("office", view)
	}
	asked := map[string]bool{}
	for _, c := range o.OpenCautions {
		asked[jobs.Capital(c.Code)] = true
	}
	for _, q := range openQuestions(j) {
		if asked[q.Name] { // the others do not matter to what is ordered, carried or stacked
			view.Cautions = append(view.Cautions, q)
		}
	}
	whole := officePart{Title: "The order", Steps: []step{{"Download as CSV", base + "/take-off.csv"}, {"Print the delivery sheet", base + "/delivery.pdf"}, {"Record a return", base + "/return"}, {"Quotes", base + "/quotes"}}}
	groups := orderGroups(o)
	if len(groups) > 0 {
		whole.Lead = []string{"On hand is reckoned from the deliveries recorded and the shares in place; not known where more is in place than came. Count what lies there before ordering."}
	}
	view.Parts = append(append(append(view.Parts, whole), groups...), liftingPart(o), pricePart(o))
	for _, s := range o.Surfaces {
		view.Parts = append(view.Parts, surfaceTakeOff(s))
	}
	for _, n := range o.Notes {
		view.Notes = append(view.Notes, sentence(n))
	}
	view.frame = v.frame("Take-off: " + j.Name)
	return v.show("office", view)
}

func pricePart(o jobs.Order) officePart {
	p := officePart{Title: "By the price list", Empty: "The firm has no prices yet.", Steps: []step{{"The firm's prices", "/firm"}}}
	if o.Price == nil {
		return p
	}
	t := table{Caption: "Without tax.", Head: []string{"quantity", "each", "price"}}
	for _, l := range o.Price.Lines {
		name := l.Item
		if l.Labour {
			name += ", labour"
		}
		t.row(jobs.Capital(name), pieces(l.Quantity, l.Unit), money(l.Each, l.Currency), money(l.Price, l.Currency))
	}
	if len(t.Rows) > 0 {
		p.Tables = []table{t}
	}
	for _, m := range o.Price.Totals {
		p.Says = append(p.Says, "In all "+money(m.Amount, m.Currency)+".")
	}
	if len(o.Price.Unpriced) > 0 {
		p.Says = append(p.Says, "Without a price: "+strings.Join(o.Price.Unpriced, ", ")+".")
	}
	for _, x := range o.Price.Variations {
		p.Says = append(p.Says, "Variations paid by "+spaced(x.Pays)+": "+money(x.Amount, x.Currency)+".")
	}
	return p
}

func money(v float64, currency string) string {
	return strings.TrimSpace(fmt.Sprintf("%.2f %s", v, currency))
}

func surfaceTakeOff(s jobs.SurfaceOrder) officePart {
	p := officePart{Title: s.Code + ", item by item", Closed: true, Empty: "Nothing to take off."}
	t := table{Caption: "Net is what is needed in the work, without waste, laps and rounding up.", Head: []string{"layer", "order", "net", "weight"}}
	for _, i := range s.TakeOff.Items {
		layer := "whole surface"
		if i.Layer > 0 {
			layer = itoa(i.Layer)
		}
		t.row(jobs.Capital(i.Item), layer, pieces(i.Quantity, i.Unit), pieces(i.Net, i.NetUnit), weightOf(i.Kg))
	}
	if len(t.Rows) > 0 {
		p.Tables = []table{t}
	}
	for _, w := range s.TakeOff.Screws {
		says := fmt.Sprintf("Layer %d: screws %s to %s", w.Layer, decimal(w.MinMM, 1), thicknessOf(w.MaxMM))
		if w.StockMM != nil {
			says += ", from stock " + thicknessOf(*w.StockMM)
		} else {
			says += ", none in stock fits"
		}
		p.Says = append(p.Says, says+".")
	}
	for _, k := range s.TakeOff.Stacks {
		p.Says = append(p.Says, fmt.Sprintf("Layer %d: at most %s to a stack, %s.", k.Layer, jobs.Count(k.Sheets, "sheet"), jobs.Count(k.Stacks, "stack")))
	}
	for _, n := range s.TakeOff.Notes {
		p.Says = append(p.Says, sentence(n))
	}
	return p
}

func getTakeOffCSV(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	firm, err := v.firm()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := j.OrderOf(firm).WriteCSV(&b); err != nil {
		return err
	}
	v.c.Set("Content-Type", "text/csv; charset=utf-8")
	v.c.Set("Content-Disposition", `attachment; filename="take-off-`+fileName(j.Name)+`.csv"`)
	return v.c.Send(b.Bytes())
}

func getQuotes(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	qs := j.Quotes()
	view := officeView{Where: whereJob(j), Answer: jobs.Capital(jobs.Count(len(qs), "quote")) + ".", Do: step{"Quote the job", jobPath(j) + "/quote"}, Lead: []string{"A quote freezes the prediction of what is specified, with the assumptions it rests on. Nobody can change it afterwards."}}
	if len(qs) == 0 {
		view.Answer = "Nothing is quoted yet."
	}
	for _, q := range qs {
		p := officePart{Title: "The whole job, " + v.stamp(q.At)}
		if q.Surface != "" {
			p.Title = q.Surface + ", " + v.stamp(q.At)
		}
		if q.Price != nil {
			p.Lead = append(p.Lead, money(*q.Price, q.Currency)+".")
		}
		if q.ValidUntil != "" {
			p.Lead = append(p.Lead, "Valid until "+dayWords(q.ValidUntil)+".")
		}
		if q.Variation != "" {
			p.Lead = append(p.Lead, "Variation, paid by "+spaced(q.Pays)+": "+sentence(q.Variation))
		}
		if !q.InForce {
			p.Lead = append(p.Lead, "Replaced by a later one.")
		}
		t := table{Caption: "Frozen as specified at that moment.", Head: []string{"mass", "Rw", "DnT,w + Ctr", "L′nT,w", "chance"}}
		for _, f := range q.Frozen {
			num := func(x *float64, say func(float64) string) string {
				if x == nil {
					return dash
				}
				return say(*x)
			}
			t.row(f.Surface, num(f.MassKgM2, massOf), num(f.RwDB, levelOf), num(f.DnTwCtrDB, levelOf), num(f.LnTwDB, levelOf), num(f.PMeets, chance))
		}
		if len(t.Rows) > 0 {
			p.Tables = []table{t}
		}
		for _, a := range q.Assumes {
			p.Says = append(p.Says, "Assumes: "+sentence(a))
		}
		view.Parts = append(view.Parts, p)
	}
	view.frame = v.frame("Quotes: " + j.Name)
	return v.show("office", view)
}

func askQuote(_ *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A quote for the whole job", Form: form{Submit: "Record the quote", More: commonFields()}}
	if on.s != nil {
		view.Answer = "A quote for " + on.s.Code
	}
	view.Lead = []string{"It freezes the prediction as specified now:"}
	for _, s := range on.j.Surfaces {
		if (on.s == nil || on.s == s) && len(s.Specified) > 0 {
			view.Lead = append(view.Lead, s.Code+": "+forecastOnPaper("", on.j.PredictSurface(s).Specified))
		}
	}
	for _, a := range on.j.Assumptions() {
		if on.s == nil || a.Surface == "" || a.Surface == on.s.Code {
			view.Asked = append(view.Asked, pair{"Assumes", sentence(a.Says())})
		}
	}
	for _, c := range on.j.OpenCautions() {
		if on.s == nil || c.Surface == on.s.Code {
			view.Asked = append(view.Asked, pair{jobs.Capital(c.Code) + ", " + c.Surface + ": open", c.Asks + " It is for " + c.Who + "."})
		}
	}
	view.Form.Fields = []field{{Kind: "decimal", Name: "price", Label: "Price"}, {Kind: "text", Name: "currency", Label: "Currency", Value: "GBP"}, dateField("valid_until", "Valid until", ""),
		{Kind: "head", Label: "Where it is a variation", Hint: "The first quote then stands beside it."}, {Kind: "area", Name: "variation", Label: "What changed"},
		{Kind: "select", Name: "pays", Label: "Who pays", Options: blank("No variation", options(jobs.Payers()...))}, noteField()}
	return view, nil
}

func askReturn(_ *visit, on spot) (recordView, error) {
	return recordView{Answer: "Material that leaves the job", Form: form{Upload: true, Submit: "Record the return", More: commonFields(), Fields: []field{{Kind: "text", Name: "material", Label: "Material"},
		{Kind: "decimal", Name: "quantity", Label: "Quantity"}, {Kind: "text", Name: "unit", Label: "Counted in", Hint: "Such as sheets, rolls, m²."},
		{Kind: "choice", Name: "reason", Label: "Why", Options: options(jobs.ReturnReasons()...)}, {Kind: "choice", Name: "to", Label: "Where to", Options: options(jobs.ReturnTo()...)},
		surfaceSelect(on.j, "surface", "It was for", "No surface in particular"), {Kind: "text", Name: "batch", Label: "Batch"}, photoField(""), noteField()}}}, nil
}
