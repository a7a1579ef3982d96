package pages

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/install", Roles: everybody, Get: getInstall, Post: postInstall, View: recordView{}})

// installView is the form as long as nothing is in the way.
func installView(v *visit, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) (recordView, inTheWay) {
	way, covers := wayUnder(j, s, l)
	view := recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("Layer %d: %s", l.N, jobs.Lower(l.Name())), Stops: way.said(j, s, covers), Open: way.lines(j, s)}
	lead := ""
	if m := l.Now.MassKgM2(); m > 0 {
		lead = "Specified " + massOf(m) + ". "
	}
	if w, ok := s.ScrewWindow(l); ok {
		lead += screwSentence(w)
		if w.Fits() {
			lead += " The window is " + decimal(w.MinMM, 1) + " to " + thicknessOf(w.MaxMM) + "."
		}
	}
	if lead != "" {
		view.Lead = append(view.Lead, lead)
	}
	if len(way.Open) > 0 {
		view.Lead = append(view.Lead, fmt.Sprintf("Layer %d then counts as covered unseen.", covers.N))
	}
	left := shareLeft(l)
	if l.Share > 0 {
		view.Lead = append(view.Lead, shareOf(l.Share)+" is recorded already.")
	}
	view.Form = form{Upload: true, Submit: fmt.Sprintf("Record layer %d in place", l.N), More: commonFields(), Fields: []field{
		{Kind: "decimal", Name: "share", Label: "Share of the area in place now", Unit: "%", Value: decimal(left*100, 4), Refused: shareRefused(l)},
		{Kind: "decimal", Name: "mass_kg_m2", Label: "Mass fitted", Unit: "kg/m²", Hint: "Only where it is not the specified " + massOf(l.Now.MassKgM2()) + "."},
		{Kind: "text", Name: "material", Label: "Material fitted", Hint: "Only where it is not the specified one."},
		photoField("The layer with the surface's code in the picture."),
		noteField(),
	}}
	return view, way
}

// sayWhyOn asks whoever puts a layer on against what the page says.
const sayWhyOn = "Say why it goes on all the same."

// shareRefused says in per cent what the record says as a share of 1.
func shareRefused(l *jobs.Layer) string {
	if l.Whole() {
		return "It is all recorded already; to correct it, take back or supersede the earlier record."
	}
	says := "The share must be above 0 and at most " + shareOf(shareLeft(l)) + "."
	if l.Share > 0 {
		says += " " + shareOf(l.Share) + " of the layer is recorded already."
	}
	return says
}

func shareLeft(l *jobs.Layer) float64 { return math.Max(0, 1-l.Share) }

func getInstall(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view, way := installView(v, j, s, l)
	way.ask(&view.Form, sayWhyOn)
	return v.ask(view)
}

func postInstall(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view, way := installView(v, j, s, l)
	way.ask(&view.Form, sayWhyOn)
	r := v.read(&view.Form, "install")
	at(r.edge, s, l.N)
	if percent, ok := r.number("share"); ok {
		r.edge["share"] = hundredth(percent)
	}
	r.numberInto("mass_kg_m2")
	r.text("material")
	r.text("note")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, surfacePath(j, s))
}

// hundredth turns per cent into a share, with the digits that were typed.
func hundredth(percent json.Number) json.Number {
	v, err := percent.Float64()
	if err != nil {
		return percent
	}
	return json.Number(strconv.FormatFloat(math.Round(v*1e7)/1e9, 'f', -1, 64))
}
