package jobs

import (
	"maps"
	"slices"
	"strings"
)

// OrderPrice is the order by the firm's price list, with the variations agreed since and who pays for them.
type OrderPrice struct {
	Lines      []PricedItem `json:"lines"`
	Totals     []Money      `json:"totals"` // of the lines, by currency
	Unpriced   []string     `json:"unpriced"`
	Variations []PaidBy     `json:"variations"`
}

// PricedItem is one item at its price.
type PricedItem struct {
	Item     string  `json:"item"`
	Unit     string  `json:"unit"`
	Quantity float64 `json:"quantity"`
	Each     float64 `json:"price_each"`
	Price    float64 `json:"price"`
	Currency string  `json:"currency"`
	Labour   bool    `json:"labour"`
	Line     string  `json:"line"` // of the price list
}

// Money is an amount.
type Money struct {
	Amount   float64 `json:"amount"`
	Currency string  `json:"currency"`
}

// PaidBy is what one side pays for changes.
type PaidBy struct {
	Pays     string  `json:"pays"`
	Amount   float64 `json:"amount"`
	Currency string  `json:"currency"`
}

// priced puts prices to the items: for the thing, and for the work on it, the line whose words match the longest part of
// the item's name. Nil where the firm has no prices.
func (o *Order) priced(j *Job, f Firm) *OrderPrice {
	if len(f.Prices) == 0 {
		return nil
	}
	p := OrderPrice{Lines: []PricedItem{}, Totals: []Money{}, Unpriced: []string{}, Variations: j.Variations()}
	sums := map[string]float64{}
	for _, i := range o.Items {
		none := true
		for _, labour := range []bool{false, true} {
			line := f.priceOf(i, labour)
			if line == nil {
				continue
			}
			none = none && labour
			price := round(i.Ordered * line.Price)
			p.Lines = append(p.Lines, PricedItem{Item: i.Item, Unit: i.Unit, Quantity: i.Ordered, Each: line.Price, Price: price, Currency: line.Currency, Labour: labour, Line: line.ID})
			sums[line.Currency] = round(sums[line.Currency] + price)
		}
		if none {
			p.Unpriced = append(p.Unpriced, i.Item)
		}
	}
	for _, c := range slices.Sorted(maps.Keys(sums)) {
		p.Totals = append(p.Totals, Money{Amount: sums[c], Currency: c})
	}
	return &p
}

func (f Firm) priceOf(i OrderItem, labour bool) *PriceLine {
	var best *PriceLine
	for n := range f.Prices {
		l := &f.Prices[n]
		if l.Labour == labour && sameUnit(l.Unit, i.Unit) && strings.HasPrefix(strings.ToLower(i.Item), strings.ToLower(l.Item)) && (best == nil || len(l.Item) > len(best.Item)) {
			best = l
		}
	}
	return best
}

// Variations sums the variations in force by who pays and in which currency.
func (j *Job) Variations() []PaidBy {
	out := []PaidBy{}
	for _, q := range j.Quotes() {
		if q.Variation == "" || !q.InForce || q.Price == nil {
			continue
		}
		i := slices.IndexFunc(out, func(p PaidBy) bool { return p.Pays == q.Pays && p.Currency == q.Currency })
		if i < 0 {
			out = append(out, PaidBy{Pays: q.Pays, Currency: q.Currency})
			i = len(out) - 1
		}
		out[i].Amount = round(out[i].Amount + *q.Price)
	}
	slices.SortFunc(out, func(a, b PaidBy) int { return strings.Compare(a.Pays+" "+a.Currency, b.Pays+" "+b.Currency) })
	return out
}
