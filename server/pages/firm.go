package pages

import (
	"fmt"
	"strings"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "office", Path: "/firm", Roles: deciders, Get: getFirm, View: officeView{}})
	_ = registerDeed(deed{path: "/firm/material", roles: deciders, do: "material", ask: askMaterial, to: toFirm})
	_ = registerDeed(deed{path: "/firm/material/:id", roles: deciders, do: "material", ask: askMaterial, base: firmBase("material"), to: toFirm})
	_ = registerDeed(deed{path: "/firm/price", roles: deciders, do: "price", ask: askPrice, to: toFirm})
	_ = registerDeed(deed{path: "/firm/price/:id", roles: deciders, do: "price", ask: askPrice, base: firmBase("price"), to: toFirm})
	_ = registerDeed(deed{path: "/firm/targets", roles: deciders, do: "target_set", ask: askTargetSet, to: toFirm})
	_ = registerDeed(deed{path: "/firm/targets/:id", roles: deciders, do: "target_set", ask: askTargetSet, base: targetSetBase, to: toFirm})
	_ = registerDeed(deed{path: "/firm/take-off", roles: deciders, do: "takeoff_rules", ask: askTakeOffRules, base: firmBase("takeoff_rules"), to: toFirm})
	_ = registerDeed(deed{path: "/firm/rule", roles: judges, do: "firm_rule", ask: askRule, base: ruleBase, to: toFirm})
	_ = registerDeed(deed{path: "/jobs/:job/rule", roles: judges, do: "firm_rule", ask: askRule, base: ruleBase, to: toOffice})
)

func toFirm(spot) string { return "/firm" }

// firmBase is the record in force of a kind with the id that the path names; of kinds without an id, the one in force.
func firmBase(kind string) func(on spot) (any, error) {
	return func(on spot) (any, error) {
		id := on.v.param("id")
		rs := on.j.Of(kind)
		for i := len(rs) - 1; i >= 0; i-- {
			tree, err := ownTree(rs[i])
			if err != nil {
				return nil, err
			}
			if id == "" || strings.EqualFold(textOf(tree["id"]), id) {
				return tree, nil
			}
		}
		if id == "" {
			return nil, nil
		}
		return nil, jobs.ErrNotFound
	}
}

// ownTree is what a record says, without what every record carries for itself.
func ownTree(r *jobs.Record) (map[string]any, error) {
	tree, err := treeOf(r.What)
	if err != nil {
		return nil, err
	}
	for _, key := range append([]string{"do", "note", "over"}, commonNames...) {
		delete(tree, key)
	}
	return tree, nil
}

func getFirm(v *visit) error {
	j, err := v.firmJob()
	if err != nil {
		return err
	}
	firm := jobs.FirmOf(j)
	own := 0
	mine := table{Caption: "A later version changes nothing that is specified already.", Head: []string{"for", "density", "spread", "source", "version"}}
	generic := table{Caption: "Generic values; a data sheet goes before them.", Head: mine.Head}
	var change []step
	for _, m := range firm.Materials() {
		density := dash
		if m.DensityKgM3 > 0 {
			density = withUnit(decimal(m.DensityKgM3, 0), "kg/m³")
		}
		cells := []string{spaced(strings.Join(m.Kinds, ", ")), density, m.Spread, m.Source}
		if m.Version == 0 {
			generic.row(m.Name, append(cells, "generic")...)
			continue
		}
		own++
		mine.row(m.Name, append(cells, itoa(m.Version))...)
		change = append(change, step{"Change " + m.Name, "/firm/material/" + m.ID})
	}
	view := officeView{Where: []crumb{{"Jobs", "/"}}, Answer: fmt.Sprintf("%s of the firm's own, %s.", jobs.Capital(jobs.Count(own, "material")), jobs.Count(len(firm.Prices), "price"))}
	materials := officePart{Title: "Materials", Steps: append([]step{{"Add a material by its data sheet", "/firm/material"}}, change...), Tables: []table{mine}}
	prices := officePart{Title: "Prices", Empty: "There is no price yet.", Steps: []step{{"Add a price", "/firm/price"}}}
	list := table{Caption: "Without tax.", Head: []string{"price", "for each", "what for", "source"}}
	for _, p := range firm.Prices {
		what := "the thing"
		if p.Labour {
			what = "the work on it"
		}
		list.row(jobs.Capital(p.Item), money(p.Price, p.Currency), p.Unit, what, p.Source)
		prices.Steps = append(prices.Steps, step{"Change " + p.Item + map[bool]string{true: ", labour", false: ""}[p.Labour], "/firm/price/" + p.ID})
	}
	if len(list.Rows) > 0 {
		prices.Tables = []table{list}
	}
	if own == 0 && len(firm.Prices) == 0 {
		view.Answer = "The firm has no material and no price of its own yet."
		view.Lead = []string{"Until then materials are the generic ones below, each with its spread, and a take-off says no prices. Begin with the data sheets of what you buy, and with what it costs."}
	}
	view.Parts = []officePart{materials, {Title: "Generic materials", Closed: true, Tables: []table{generic}}, prices, targetsPart(firm), takeOffPart(j), rulePart(v, j)}
	view.frame = v.frame("The firm")
	return v.show("office", view)
}

func targetsPart(firm jobs.Firm) officePart {
	p := officePart{Title: "Targets", Closed: true, Lead: []string{"Starting points with their source. The document in force goes before them."}, Steps: []step{{"Add a set of targets", "/firm/targets"}}}
	for _, set := range firm.TargetSets() {
		r := officeRow{Name: strings.TrimSpace(set.Country + " " + set.Use), Steps: []step{{"The firm's own in its place", "/firm/targets/" + set.ID}}}
		if set.Own {
			r.Name += " (the firm's)"
			r.Steps[0].Text = "Change " + set.ID
		}
		for _, f := range set.Figures {
			r.Says = append(r.Says, jobs.Capital(f.Element)+": "+targetWords(jobs.Target{Quantity: f.Quantity, ValueDB: f.ValueDB})+".")
		}
		r.Says = append(r.Says, sentence(set.Says()))
		if set.Note != "" {
			r.Says = append(r.Says, sentence(set.Note))
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}

// takeOffNow are the figures of the firm that change the usual ones.
func takeOffNow(j *jobs.Job) *jobs.TakeOffEntry {
	rs := j.Of("takeoff_rules")
	if len(rs) == 0 {
		return nil
	}
	return rs[len(rs)-1].What.(*jobs.TakeOffEntry)
}

func takeOffPart(j *jobs.Job) officePart {
	own := takeOffNow(j)
	t := table{Caption: "Every one may be changed; a data sheet goes before all of them.", Head: []string{"value", "source"}}
	for _, r := range jobs.TakeOffRules() {
		value, source := r.Value, r.Source
		if own != nil {
			if x, ok := own.Rules[r.Key]; ok {
				value, source = x, "the firm's"
				if own.Source != "" {
					source += ": " + own.Source
				}
			}
		}
		t.row(jobs.Capital(r.Name), withUnit(decimal(value, 3), r.Unit), source)
	}
	return officePart{Title: "How the firm takes off", Closed: true, Tables: []table{t}, Steps: []step{{"Change the figures", "/firm/take-off"}}}
}

func rulePart(v *visit, j *jobs.Job) officePart {
	r := j.FirmRule(jobs.DefaultFirmRule())
	wait := "Without an answer nothing is covered."
	if *r.CoverAfterH > 0 {
		wait = fmt.Sprintf("Without an answer a layer whose evidence is “%s” or better may be covered after %s, never one with a stop item.", evidenceWords[min(*r.FullEvidence, len(evidenceWords)-1)], withUnit(decimal(*r.CoverAfterH, 1), "h"))
	}
	p := officePart{Title: "The firm's own rules", Says: []string{wait, fmt.Sprintf("The first %d surfaces of a fitter are all looked at, then 1 in %d; 1 in %d after a fault, until %d in a row were clean.", *r.NewFitterSurfaces, *r.SampleOneIn, *r.AfterFailOneIn, *r.CleanToRelax),
		fmt.Sprintf("1 finished job in %d is looked at again.", *r.RevisitOneIn)}}
	if v.who.Role.Judges() {
		p.Steps = []step{{"Change the rule", "/firm/rule"}}
	}
	return p
}

func idField(now string) field {
	f := field{Kind: "text", Name: "id", Label: "Short name", Hint: "Letters, digits, hyphens; it stays when the rest changes."}
	if now != "" {
		f.Hint = "Another short name makes another one."
	}
	return f
}

func askMaterial(v *visit, _ spot) (recordView, error) {
	view := recordView{Answer: "A material by its data sheet", Form: form{Submit: "Record the material", More: commonFields()}}
	number := func(name, label, unit string) field {
		return field{Kind: "decimal", Name: name, Label: label, Unit: unit}
	}
	view.Form.Fields = []field{idField(v.param("id")), {Kind: "text", Name: "name", Label: "What it is, without a maker's name"}, {Kind: "box", Name: "kinds", Label: "Layers that it may be", Options: options(jobs.MaterialKinds()...)},
		number("density_kg_m3", "Density", "kg/m³"), {Kind: "area", Name: "masses", Rows: "thickness_mm mass_kg_m2", Label: "Mass by thickness", Hint: "One a line: thickness in mm, then mass in kg/m², such as 12.5 9.8."},
		number("youngs_modulus_gpa", "Young's modulus", "GPa"), number("poisson", "Poisson's ratio", ""), number("loss_factor", "Internal loss factor", ""), number("shear_modulus_mpa", "Shear modulus", "MPa"),
		number("dynamic_stiffness_mn_m3", "Dynamic stiffness", "MN/m³"), {Kind: "text", Name: "spread", Label: "How far the values spread", Hint: "Such as ± 5 %."}, {Kind: "text", Name: "source", Label: "Source"},
		{Kind: "text", Name: "data_sheet", Label: "Data sheet", Hint: "Number and date."}, noteField()}
	return view, nil
}

func askPrice(v *visit, _ spot) (recordView, error) {
	return recordView{Answer: "A price", Form: form{Submit: "Record the price", More: commonFields(), Fields: []field{idField(v.param("id")), {Kind: "text", Name: "item", Label: "Item", Hint: "How its name begins in a take-off: board 15 mm, clip, sealant."},
		{Kind: "decimal", Name: "price", Label: "Price"}, {Kind: "text", Name: "currency", Label: "Currency", Value: "GBP"}, {Kind: "text", Name: "unit", Label: "For each", Hint: "As the take-off counts it: sheet, piece, m, m²."},
		{Kind: "box", Name: "labour", Label: "Labour", Options: []option{{Value: "true", Label: "For the work on it, not for the thing"}}}, {Kind: "text", Name: "source", Label: "Source"}, noteField()}}}, nil
}

func targetSetBase(on spot) (any, error) {
	firm := jobs.FirmOf(on.j)
	for _, set := range firm.TargetSets() {
		if strings.EqualFold(set.ID, on.v.param("id")) {
			return map[string]any{"id": set.ID, "country": set.Country, "use": set.Use, "dated": set.Dated, "source": set.Source, "sure": set.Sure, "targets": set.Figures}, nil
		}
	}
	return nil, jobs.ErrNotFound
}

func askTargetSet(v *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A set of targets", Form: form{Submit: "Record the targets", More: commonFields()}, Lead: []string{"An edition newer than the program, or what a lease asks for. One with the short name of a set of the program replaces it."}}
	rows := 3
	for _, set := range jobs.FirmOf(on.j).TargetSets() {
		if strings.EqualFold(set.ID, v.param("id")) {
			rows = len(set.Figures) + 2
		}
	}
	view.Form.Fields = []field{idField(v.param("id")), {Kind: "text", Name: "country", Label: "Country"}, {Kind: "text", Name: "use", Label: "Kind of job"}, {Kind: "text", Name: "source", Label: "Source", Hint: "The document and its table."},
		{Kind: "text", Name: "dated", Label: "Dated", Hint: "Its year or edition."}, {Kind: "text", Name: "sure", Label: "How the figures were read"}}
	for i := range rows {
		key, name := fmt.Sprintf("targets[%d].", i), fmt.Sprintf("Figure %d", i+1)
		view.Form.Fields = append(view.Form.Fields, field{Kind: "select", Name: key + "element", Label: name + ": of", Options: blank("None", options("wall", "floor", "any"))},
			field{Kind: "select", Name: key + "quantity", Label: name + ": quantity", Options: blank("None", quantityOptions())}, field{Kind: "decimal", Name: key + "value_db", Label: name + ": value", Unit: "dB"})
	}
	view.Form.Fields = append(view.Form.Fields, noteField())
	return view, nil
}

func askTakeOffRules(_ *visit, _ spot) (recordView, error) {
	view := recordView{Answer: "How the firm takes off", Form: form{Submit: "Record the figures", More: commonFields()}, Lead: []string{"Left empty: the usual figure, which its hint says with its source."}}
	for _, r := range jobs.TakeOffRules() {
		view.Form.Fields = append(view.Form.Fields, field{Kind: "decimal", Name: "rules." + r.Key, Label: jobs.Capital(r.Name), Unit: r.Unit, Hint: "Usual: " + withUnit(decimal(r.Value, 3), r.Unit) + ", " + r.Source + "."})
	}
	view.Form.Fields = append(view.Form.Fields, head("Sheets and screws"), field{Kind: "decimal", Name: "sheet.width_mm", Label: "Width of a sheet", Unit: "mm"}, field{Kind: "decimal", Name: "sheet.length_mm", Label: "Length of a sheet", Unit: "mm"},
		field{Kind: "text", Name: "stock_screws_mm", Rows: "numbers", Label: "Screws in stock", Unit: "mm", Hint: "Lengths with a blank between, such as 25 32 42."}, field{Kind: "text", Name: "source", Label: "Source"}, noteField())
	return view, nil
}

func ruleBase(on spot) (any, error) {
	rs := on.j.Of("firm_rule")
	if len(rs) == 0 {
		return nil, nil
	}
	tree, err := ownTree(rs[len(rs)-1])
	delete(tree, "reason") // each change has its own
	return tree, err
}

func askRule(_ *visit, on spot) (recordView, error) {
	d := jobs.DefaultFirmRule()
	view := recordView{Answer: "The firm's own rules", Form: form{Submit: "Record the rule", More: commonFields()}, Lead: []string{"Left empty: the default, which each hint says. The defaults are common practice of this project."}}
	if on.j.ID != on.j.Company {
		view.Answer = "A rule for this job alone"
		view.Lead = []string{"Left empty: the firm's rule holds."}
	}
	number := func(name, label, unit, usual string) field {
		return field{Kind: "decimal", Name: name, Label: label, Unit: unit, Hint: "Default: " + usual + "."}
	}
	view.Form.Fields = []field{number("cover_after_h", "Without an answer covered after", "h", decimal(*d.CoverAfterH, 1)+thin+"h; 0 is never"), number("full_evidence", "Evidence needed for that", "of 5", itoa(*d.FullEvidence)),
		number("new_fitter_surfaces", "First surfaces of a fitter, all looked at", "", itoa(*d.NewFitterSurfaces)), number("sample_one_in", "Then one surface in", "", itoa(*d.SampleOneIn)),
		number("after_fail_one_in", "After a fault one in", "", itoa(*d.AfterFailOneIn)), number("clean_to_relax", "Until so many in a row were clean", "", itoa(*d.CleanToRelax)),
		number("revisit_one_in", "Finished jobs looked at again, one in", "", itoa(*d.RevisitOneIn)), {Kind: "area", Name: "reason", Label: "Reason"}, noteField()}
	return view, nil
}
