package jobs

import (
	"math"
	"slices"
	"strings"
	"time"
)

// Order is the take-off of a whole job, set against what was delivered and what left again.
type Order struct {
	Job        string         `json:"job"`
	Name       string         `json:"name"`
	Surfaces   []SurfaceOrder `json:"surfaces"`
	Items      []OrderItem    `json:"items"`
	KgTotal    float64        `json:"kg_total"`
	Deliveries []Movement     `json:"deliveries"`
	Returns    []Movement     `json:"returns"`
	Price      *OrderPrice    `json:"price"`
	// Cautions are the questions that somebody has to answer before material is ordered, carried or stacked.
	OpenCautions []CautionState `json:"open_cautions"`
	Notes        []string       `json:"notes"`
}

// SurfaceOrder is the take-off of one surface.
type SurfaceOrder struct {
	Code    string  `json:"code"`
	TakeOff TakeOff `json:"take_off"`
}

// OrderItem is one kind of thing over the whole job. OnHand is reckoned: delivered and not damaged, less returned, less what the shares in
// place have used with the planned waste.
type OrderItem struct {
	Item      string   `json:"item"`
	Unit      string   `json:"unit"`
	Ordered   float64  `json:"ordered"`
	KgEach    *float64 `json:"kg_each"`
	M2Each    float64  `json:"m2_each"`
	Kg        float64  `json:"kg"`
	Delivered float64  `json:"delivered"`
	Returned  float64  `json:"returned"`
	Used      float64  `json:"used"`
	OnHand    float64  `json:"on_hand"`
	Short     float64  `json:"short"`     // still to come for what is not in place
	LeftOver  float64  `json:"left_over"` // more than what is still to do needs: for the next job
	Surfaces  []string `json:"surfaces"`
	Layers    []int    `json:"layers"` // beside the surfaces, one each
	Group     string   `json:"group"`  // one of [TakeOffGroups]
}

// Movement is one delivery or return. Kg is nil where the weight of a piece is not known.
type Movement struct {
	Entry    string   `json:"entry"`
	At       string   `json:"at"`
	Material string   `json:"material"`
	Quantity float64  `json:"quantity"`
	Unit     string   `json:"unit"`
	Surface  string   `json:"surface"`
	Layer    int      `json:"layer"`
	Kg       *float64 `json:"kg"`
	// Counts is the quantity in the unit of the order, where it came in another: 16 m² of rolls of 6 m² are 2.667 rolls.
	Counts  float64 `json:"counts"`
	As      string  `json:"counts_as"`
	Reason  string  `json:"reason"` // of a return
	To      string  `json:"to"`
	Ordered bool    `json:"ordered"` // it belongs to an item of the order
}

// OrderOf takes the whole job off, as the firm does.
func (j *Job) OrderOf(f Firm) Order {
	o := Order{Job: j.ID, Name: j.Name, Surfaces: []SurfaceOrder{}, Items: []OrderItem{}, Deliveries: []Movement{}, Returns: []Movement{}, Notes: []string{}}
	for _, s := range j.Surfaces {
		t := j.TakeOffFor(f, s)
		o.Surfaces = append(o.Surfaces, SurfaceOrder{Code: s.Code, TakeOff: t})
		o.KgTotal = round(o.KgTotal + t.KgTotal)
		for _, i := range t.Items {
			o.add(s, i)
		}
	}
	for _, r := range j.Records {
		if !j.InForce(r) {
			continue
		}
		switch d := r.What.(type) {
		case *Deliver:
			m := Movement{Material: d.Material, Quantity: value(d.Quantity), Unit: d.Unit, Surface: d.Surface, Layer: d.Layer}
			if i := o.move(&m, r, d.MassKgM2); i != nil {
				i.Delivered = round(i.Delivered + i.count(d.usable(), d.Unit))
			}
			o.Deliveries = append(o.Deliveries, m)
		case *Return:
			m := Movement{Material: d.Material, Quantity: value(d.Quantity), Unit: d.Unit, Surface: d.Surface, Layer: d.Layer, Reason: d.Reason, To: d.To}
			if i := o.move(&m, r, nil); i != nil {
				i.Returned = round(i.Returned + i.count(m.Quantity, m.Unit))
			}
			o.Returns = append(o.Returns, m)
		}
	}
	for i := range o.Items {
		o.Items[i].balance()
	}
	if slices.ContainsFunc(o.Deliveries, func(m Movement) bool { return !m.Ordered }) {
		o.Notes = append(o.Notes, "something was delivered that no item of the order names: see deliveries")
	}
	o.Notes = append(o.Notes, "used and on hand are reckoned from the shares in place and the planned waste: count what lies there before ordering")
	o.Price = o.priced(j, f)
	o.OpenCautions = slices.DeleteFunc(j.OpenCautions(), func(c CautionState) bool {
		return c.Code != CautionLoad && c.Code != CautionAsbestos && c.Code != CautionHandling
	})
	return o
}

// add sums an item into those of the whole job, with what the shares in place have used of it.
func (o *Order) add(s *Surface, t TakeOffItem) {
	share := s.doneShare(t.Layer)
	i := o.find(t.Item, t.Unit)
	if i == nil {
		o.Items = append(o.Items, OrderItem{Item: t.Item, Unit: t.Unit, KgEach: t.KgEach, M2Each: t.M2Each, Group: t.Group})
		i = &o.Items[len(o.Items)-1]
	}
	i.Ordered, i.Kg, i.Used = round(i.Ordered+t.Quantity), round(i.Kg+t.Kg), round(i.Used+t.Quantity*share)
	i.Surfaces, i.Layers = append(i.Surfaces, s.Code), append(i.Layers, t.Layer)
}

// doneShare is the share of a layer in place; for what belongs to the surface as a whole, the mean over its layers.
func (s *Surface) doneShare(layer int) float64 {
	if l := s.Layer(layer); l != nil {
		return l.Share
	}
	if len(s.Layers) == 0 {
		return 0
	}
	var sum float64
	for _, l := range s.Layers {
		sum += l.Share
	}
	return sum / float64(len(s.Layers))
}

func (o *Order) find(item, unit string) *OrderItem {
	for i := range o.Items {
		if strings.EqualFold(o.Items[i].Item, item) && sameUnit(o.Items[i].Unit, unit) {
			return &o.Items[i]
		}
	}
	return nil
}

// move finds the item that a movement belongs to: by surface, layer and unit, else by what the material is called.
func (o *Order) move(m *Movement, r *Record, mass *float64) *OrderItem {
	m.Entry, m.At = r.ID, r.DoneAt().Format(time.RFC3339)
	var found *OrderItem
	for i := range o.Items {
		it := &o.Items[i]
		if !it.takes(m.Unit) {
			continue
		}
		here := m.Surface == ""
		for n, code := range it.Surfaces {
			here = here || compareCodes(code, m.Surface) == 0 && (m.Layer == 0 || m.Layer == it.Layers[n])
		}
		named := strings.Contains(strings.ToLower(it.Item), strings.ToLower(strings.TrimSpace(m.Material)))
		if here && (named || found == nil && m.Layer > 0 && it.Unit != "piece") {
			found = it
			if named {
				break
			}
		}
	}
	if found == nil {
		return nil
	}
	m.Ordered = true
	count := found.count(m.Quantity, m.Unit)
	if !sameUnit(found.Unit, m.Unit) {
		m.Counts, m.As = round(count), found.Unit
	}
	if found.KgEach != nil {
		kg := round(count * *found.KgEach)
		if mass != nil && found.M2Each > 0 { // it came with another mass than ordered
			kg = round(count * found.M2Each * *mass)
		}
		m.Kg = &kg
	}
	return found
}

// takes tells whether something of that unit may belong to the item: it is counted in it, or covers an area as a piece of the item does.
func (i *OrderItem) takes(unit string) bool {
	return sameUnit(i.Unit, unit) || i.M2Each > 0 && sameUnit("m²", unit)
}

// count is a quantity in the item's own unit.
func (i *OrderItem) count(quantity float64, unit string) float64 {
	if sameUnit(i.Unit, unit) {
		return quantity
	}
	return quantity / i.M2Each
}

// balance reckons what lies there, what is short and what is left over. Whole pieces stay whole.
func (i *OrderItem) balance() {
	todo := i.Ordered - i.Used
	i.OnHand = round(i.Delivered - i.Returned - i.Used)
	i.Short = round(max(0, todo-max(0, i.OnHand)))
	i.LeftOver = round(max(0, i.OnHand-todo))
	if i.Unit != "m" && i.Unit != "m²" {
		i.Short, i.LeftOver = math.Ceil(max(0, i.Short-1e-9)), math.Floor(i.LeftOver+1e-9)
	}
}

// sameUnit compares units as people write them: sheet, sheets, Sheets.
func sameUnit(a, b string) bool {
	norm := func(s string) string {
		s = strings.ToLower(strings.TrimSpace(s))
		s = strings.TrimSuffix(s, ".")
		switch s {
		case "m2", "sqm", "sq m":
			return "m²"
		case "pcs", "pc", "no", "nr":
			return "piece"
		}
		if len(s) > 3 {
			s = strings.TrimSuffix(s, "s")
		}
		return s
	}
	return norm(a) == norm(b)
}
