package pages

import (
	"fmt"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/deliver", Roles: everybody, Get: getDeliver, Post: postDeliver, View: recordView{}})

// deliverView records what came for a layer, while its label can still be read.
func deliverView(v *visit, f jobs.Firm, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) recordView {
	var before []*jobs.Record
	for _, r := range inForce(j, s, l.N) {
		if r.Kind == "deliver" {
			before = append(before, r)
		}
	}
	name := jobs.Capital(l.Name())
	return recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("Delivered for layer %d", l.N), BeforeTitle: "Delivered so far", Before: v.recordLines(j, before, v.states(j)),
		Lead: append([]string{"Specified is " + jobs.Lower(name) + ", " + massOf(l.Now.MassKgM2()) + "."}, stacking(f, j, s, l)...),
		Form: form{Upload: true, Submit: "Record the delivery", More: commonFields(), Fields: []field{
			{Kind: "text", Name: "material", Label: "Material, as its label says", Value: name},
			{Kind: "decimal", Name: "quantity", Label: "Quantity"},
			{Kind: "text", Name: "unit", Label: "Counted in", Hint: "Such as sheets, rolls, m²."},
			{Kind: "decimal", Name: "mass_kg_m2", Label: "Mass, as its label says", Unit: "kg/m²", Hint: "If the label says it."},
			{Kind: "text", Name: "batch", Label: "Batch"},
			{Kind: "decimal", Name: "ordered", Label: "Ordered", Hint: "In the same unit, if it is another number than came."},
			{Kind: "decimal", Name: "damaged", Label: "Damaged", Hint: "How much of it can't be used."},
			{Kind: "choice", Name: "wet", Label: "Condition", Options: []option{{Value: "no", Label: "Dry"}, {Value: "yes", Label: "Wet"}}},
			{Kind: "text", Name: "stored", Label: "Where and how it lies", Hint: "Flat, dry, on bearers; across the joists near a wall that carries, never on edge against a wall."},
			photoField("The label, and the print on its edge."), noteField()}}}
}

// stacking says how high the sheets of a layer may lie, where it is made of sheets.
func stacking(f jobs.Firm, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) []string {
	for _, k := range j.TakeOffFor(f, s).Stacks {
		if k.Layer == l.N {
			return []string{fmt.Sprintf("At most %s on each other (%s, %s; %s). On an old floor ask first whoever answers for the structure.", jobs.Count(k.Sheets, "sheet"),
				withUnit(decimal(k.KgM2, 0), "kg/m²"), withUnit(decimal(k.MM, 0), "mm"), k.Source)}
		}
	}
	return nil
}

func getDeliver(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	f, err := v.firm()
	if err != nil {
		return err
	}
	return v.ask(deliverView(v, f, j, s, l))
}

func postDeliver(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	f, err := v.firm()
	if err != nil {
		return err
	}
	view := deliverView(v, f, j, s, l)
	r := v.read(&view.Form, "deliver")
	at(r.edge, s, l.N)
	for _, name := range []string{"material", "unit", "batch", "stored", "note"} {
		r.text(name)
	}
	r.numberInto("quantity")
	r.numberInto("mass_kg_m2")
	r.numberInto("ordered")
	r.numberInto("damaged")
	if v.c.FormValue("wet") == "yes" {
		r.edge["wet"] = true
	}
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, surfacePath(j, s))
}
