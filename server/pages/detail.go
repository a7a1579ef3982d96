package pages

import (
	"fmt"

	"tacet/jobs"
)

var _ = registerDeed(deed{path: "/jobs/:job/s/:surface/:layer/detail", roles: deciders, do: "layer_detail", ask: askDetail,
	base: func(on spot) (any, error) {
		if on.layer == nil {
			return nil, jobs.ErrNotFound
		}
		if d := on.s.Detail(on.j, on.layer.N); d != nil {
			return d, nil
		}
		return nil, nil
	},
	edge: func(on spot, r *reader) { at(r.edge, on.s, on.layer.N) }})

// askDetail asks what a specification says of a layer beyond what a calculation needs.
func askDetail(v *visit, on spot) (recordView, error) {
	if on.layer == nil {
		return recordView{}, jobs.ErrNotFound
	}
	l := on.layer
	view := recordView{Answer: fmt.Sprintf("Layer %d in detail: %s", l.N, jobs.Lower(l.SpecifiedName())), Form: form{Submit: fmt.Sprintf("Record the details of layer %d", l.N)},
		Lead: []string{"All of it may be left open. What changes the list itself, mass or thickness, is respecified."}}
	var equals int
	if d := on.s.Detail(on.j, l.N); d != nil {
		equals = len(d.Equals)
	}
	f := &view.Form
	f.Fields = []field{
		{Kind: "text", Name: "generic", Label: "Material in plain words"},
		{Kind: "text", Name: "orientation", Label: "Which way it lies", Hint: "Such as across the joists, printed face out."},
		{Kind: "box", Name: "roles", Label: "What it does besides", Options: options(jobs.RoleNames()...)},
		head("How it is held"),
		{Kind: "text", Name: "fixing.type", Label: "Fixing", Hint: "Such as screws, clips, adhesive, laid loose."},
		{Kind: "decimal", Name: "fixing.length_mm", Label: "Length of the fixing", Unit: "mm"},
		{Kind: "decimal", Name: "fixing.spacing_mm", Label: "Centres of the fixing", Unit: "mm"},
		{Kind: "text", Name: "fixing.into", Label: "Fixed into", Hint: "Such as the channel only."},
		{Kind: "decimal", Name: "joints.stagger_mm", Label: "Joints staggered by", Unit: "mm"},
		{Kind: "text", Name: "joints.rule", Label: "Rule for the joints"},
		head("Its edge"),
		{Kind: "decimal", Name: "edge.gap_mm", Label: "Gap round it", Unit: "mm"},
		{Kind: "select", Name: "edge.seal", Label: "Closed with", Options: blank("Not said", options(jobs.EdgeSeals()...))},
		{Kind: "head", Label: "Classes for fire and moisture", Hint: "As the document asks and the data sheet says. The program judges neither."},
	}
	for _, c := range []struct{ key, what string }{{"required[0]", "Required"}, {"required[1]", "Required besides"}, {"given[0]", "The data sheet gives"}, {"given[1]", "It gives besides"}} {
		f.Fields = append(f.Fields, field{Kind: "select", Name: c.key + ".for", Label: c.what + ": for", Options: blank("Nothing", options(jobs.Classes()...))},
			field{Kind: "text", Name: c.key + ".what", Label: c.what + ": class"}, field{Kind: "text", Name: c.key + ".by", Label: c.what + ": who says so"})
	}
	f.Fields = append(f.Fields, field{Kind: "head", Label: "May be used without asking again", Hint: "A permitted equal is specified, not improvised."})
	for i := range equals + 1 {
		key := fmt.Sprintf("equals[%d].", i)
		f.Fields = append(f.Fields, field{Kind: "select", Name: key + "layer.kind", Label: fmt.Sprintf("Equal %d: kind", i+1), Options: blank("None", layerKindOptions(true))},
			field{Kind: "decimal", Name: key + "layer.thickness_mm", Label: fmt.Sprintf("Equal %d: thickness", i+1), Unit: "mm"},
			field{Kind: "decimal", Name: key + "layer.mass_kg_m2", Label: fmt.Sprintf("Equal %d: mass", i+1), Unit: "kg/m²"},
			field{Kind: "text", Name: key + "name", Label: fmt.Sprintf("Equal %d: as it is called", i+1)})
	}
	f.Fields = append(f.Fields, head("How sure"),
		field{Kind: "select", Name: "mass_source", Label: "The mass comes from", Options: blank("Not said", options(jobs.MassSources()...))},
		field{Kind: "text", Name: "data_sheet", Label: "Data sheet", Hint: "Which one, and its date."},
		field{Kind: "box", Name: "hold_point", Label: "Hold point", Options: []option{{Value: "true", Label: "Nobody covers it before the supervisor has seen it"}}},
		field{Kind: "text", Name: "evidence_wanted", Label: "Evidence wanted", Hint: "What has to be shown before it is covered."}, noteField())
	return view, nil
}
