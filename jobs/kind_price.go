package jobs

import "strings"

var _ = registerKind[PriceEntry]("price", 1)

// PriceEntry is one line of the firm's price list, in the company's own job. Recording it again makes a new version.
type PriceEntry struct {
	Common
	ofFirm
	ID       string   `json:"id"`
	Item     string   `json:"item"` // the beginning of a take-off item: "board 15 mm", "clip"
	Unit     string   `json:"unit"`
	Price    *float64 `json:"price"`
	Currency string   `json:"currency"`
	Labour   bool     `json:"labour,omitempty"` // for the work on it, not for the thing
	Source   string   `json:"source,omitempty"`
}

// PriceLine is a price in force.
type PriceLine struct {
	ID       string  `json:"id"`
	Item     string  `json:"item"`
	Unit     string  `json:"unit"`
	Price    float64 `json:"price"`
	Currency string  `json:"currency"`
	Labour   bool    `json:"labour"`
	Source   string  `json:"source"`
	Entry    string  `json:"entry"`
}

// Valid checks item, unit and price.
func (d *PriceEntry) Valid() error {
	if err := identifier("id", d.ID); err != nil {
		return err
	}
	if err := text("item", d.Item, 1, 200); err != nil {
		return err
	}
	if err := text("unit", d.Unit, 1, 40); err != nil {
		return err
	}
	if err := needed(PriceRange, "price", d.Price); err != nil {
		return err
	}
	if err := text("currency", d.Currency, 1, 10); err != nil {
		return err
	}
	if err := text("source", d.Source, 0, 300); err != nil {
		return err
	}
	return d.valid()
}

// names replaces the version before.
func (d *PriceEntry) names(j *Job) []Ref {
	return inForce(j, func(p *PriceEntry) bool { return strings.EqualFold(p.ID, d.ID) })
}

func (d *PriceEntry) apply(j *Job, r *Record) { j.put(r) }

func (d *PriceEntry) says(*Job, *Record) string {
	return "price of " + d.Item + ": " + trim(value(d.Price)) + " " + d.Currency + " for each " + d.Unit
}

func (d *PriceEntry) line(entry string) PriceLine {
	return PriceLine{ID: d.ID, Item: d.Item, Unit: d.Unit, Price: value(d.Price), Currency: d.Currency, Labour: d.Labour, Source: d.Source, Entry: entry}
}
