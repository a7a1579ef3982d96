package jobs

import "time"

// QuoteView is a quote with what it froze.
type QuoteView struct {
	ID         string   `json:"id"`
	At         string   `json:"at"`
	Surface    string   `json:"surface"`
	Price      *float64 `json:"price"`
	Currency   string   `json:"currency"`
	ValidUntil string   `json:"valid_until"`
	Variation  string   `json:"variation"`
	Pays       string   `json:"pays"`
	InForce    bool     `json:"in_force"`
	Frozen     []Frozen `json:"frozen"`
	Assumes    []string `json:"assumes"`
}

// FrozenView is the prediction frozen for a surface, to be shown beside the one of today.
type FrozenView struct {
	Quote string `json:"quote"`
	At    string `json:"at"`
	Frozen
	// Respecified is set when the layer list is another one now.
	Respecified bool `json:"respecified"`
}

// Quotes lists every quote, those that a later one replaced included.
func (j *Job) Quotes() []QuoteView {
	out := []QuoteView{}
	for _, r := range j.quoteRecords() {
		q := r.What.(*Quote)
		out = append(out, QuoteView{ID: r.ID, At: r.Clk.Time().Format(time.RFC3339), Surface: q.Surface, Price: q.Price, Currency: q.Currency, ValidUntil: q.ValidUntil,
			Variation: q.Variation, Pays: q.Pays, InForce: j.InForce(r), Frozen: append([]Frozen{}, q.Frozen...), Assumes: append([]string{}, q.Assumes...)})
	}
	return out
}

// Currency is what the job's quotes are in, which its costs are taken to be in too; empty where they do not say, or differ.
func (j *Job) Currency() string {
	var is string
	for _, r := range j.quoteRecords() {
		switch c := r.What.(*Quote).Currency; {
		case c == "" || c == is:
		case is == "":
			is = c
		default:
			return ""
		}
	}
	return is
}

// FrozenFor is what the last quote in force that covers the surface froze, a quote of the surface itself before one of
// the job; nil for none.
func (j *Job) FrozenFor(s *Surface) *FrozenView {
	var best *FrozenView
	own := false
	for _, r := range j.quoteRecords() {
		q := r.What.(*Quote)
		if !j.InForce(r) || own && q.Surface == "" {
			continue
		}
		for _, f := range q.Frozen {
			if compareCodes(f.Surface, s.Code) == 0 {
				best = &FrozenView{Quote: r.ID, At: r.Clk.Time().Format(time.RFC3339), Frozen: f, Respecified: s.List == nil || s.List.ID != f.List}
				own = own || q.Surface != ""
			}
		}
	}
	return best
}
