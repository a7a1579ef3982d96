package pages

import (
	"fmt"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/deliver", Roles: everybody, Get: getDeliver, Post: postDeliver, View: recordView{}})

// deliverView records what came for a layer, while its label can still be read.
func deliverView(v *visit, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) recordView {
	var before []*jobs.Record
	for _, r := range inForce(j, s, l.N) {
		if r.Kind == "deliver" {
			before = append(before, r)
		}
	}
	name := layerName(l.Now)
	return recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("Delivered for layer %d", l.N), BeforeTitle: "Delivered so far", Before: v.recordLines(j, before, v.states(j)),
		Lead: []string{"Specified is " + lower(name) + ", " + massOf(l.Now.MassKgM2()) + "."},
		Form: form{Upload: true, Submit: "Record the delivery", More: commonFields(), Fields: []field{
			{Kind: "text", Name: "material", Label: "Material, as its label says", Value: name},
			{Kind: "decimal", Name: "quantity", Label: "Quantity"},
			{Kind: "text", Name: "unit", Label: "Counted in", Hint: "Such as sheets, rolls, m²."},
			{Kind: "decimal", Name: "mass_kg_m2", Label: "Mass, as its label says", Unit: "kg/m²", Hint: "If the label says it."},
			{Kind: "text", Name: "batch", Label: "Batch"},
			photoField("The label, and the print on its edge."), noteField()}}}
}

func getDeliver(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	return v.ask(deliverView(v, j, s, l))
}

func postDeliver(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view := deliverView(v, j, s, l)
	r := v.read(&view.Form, "deliver")
	at(r.edge, s, l.N)
	for _, name := range []string{"material", "unit", "batch", "note"} {
		r.text(name)
	}
	r.numberInto("quantity")
	r.numberInto("mass_kg_m2")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, surfacePath(j, s))
}
