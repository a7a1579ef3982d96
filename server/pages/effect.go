package pages

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tacet/jobs"
)

// effectPairs puts what a substitution does side by side, for whoever has to answer.
func effectPairs(e jobs.SubstitutionEffect) []pair {
	was, then := e.Without, e.With
	ps := []pair{{"Instead of " + jobs.Lower(e.Instead), e.New + ". " + sentence(e.Reason)},
		{"Mass of the layer", change(was.LayerMassKgM2, then.LayerMassKgM2, 1, "kg/m²")},
		{"Mass added by the surface", change(was.MassKgM2, then.MassKgM2, 1, "kg/m²")},
		{"Thickness added", change(was.ThicknessMM, then.ThicknessMM, 1, "mm")}}
	load, loadThen := was.LoadKNM2, then.LoadKNM2
	name := "Load"
	if was.OnStructure != nil && then.OnStructure != nil {
		load, loadThen, name = *was.OnStructure, *then.OnStructure, "Load on the structure, all surfaces"
	}
	says := change(load, loadThen, 2, "kN/m²")
	if was.LoadLimit != nil {
		says += ", agreed " + withUnit(decimal(*was.LoadLimit, 2), "kN/m²")
	}
	ps = append(ps, pair{name, says + ". A sum, no judgement: a structural engineer decides."})
	for i, w := range was.Screws {
		if i < len(then.Screws) {
			ps = append(ps, pair{fmt.Sprintf("Screw of layer %d", w.Layer), screwChange(w.ScrewView, then.Screws[i].ScrewView)})
		}
	}
	return append(ps, pair{"Predicted without it", predictedWords(was.Predicted)}, pair{"Predicted with it", predictedWords(then.Predicted)})
}

// askedWords says what kind of a substitution waits.
func askedWords(e jobs.SubstitutionEffect) string {
	if e.State == jobs.AlreadyFixed {
		return "Fixed already instead, nobody has agreed: "
	}
	return "Asked for instead: "
}

// effectWords is the same in one line: what changes, and by how much.
func effectWords(e jobs.SubstitutionEffect) string {
	parts := []string{change(e.Without.MassKgM2, e.With.MassKgM2, 1, "kg/m²")}
	if e.Without.ThicknessMM != e.With.ThicknessMM {
		parts = append(parts, change(e.Without.ThicknessMM, e.With.ThicknessMM, 1, "mm"))
	}
	for i, w := range e.Without.Screws {
		if i < len(e.With.Screws) && !sameScrew(w.ScrewView, e.With.Screws[i].ScrewView) {
			parts = append(parts, fmt.Sprintf("screw of layer %d: %s", w.Layer, screwChange(w.ScrewView, e.With.Screws[i].ScrewView)))
		}
	}
	if a, b := e.Without.Predicted, e.With.Predicted; a.RwDB != nil && b.RwDB != nil {
		parts = append(parts, fmt.Sprintf("Rw %d → %s", *a.RwDB, withUnit(strconv.Itoa(*b.RwDB)+plusMinus+uncertainty(*b.UDB), "dB")))
	}
	return strings.Join(parts, "; ") + "."
}

func sameScrew(a, b jobs.ScrewView) bool {
	return (a.StockMM == nil) == (b.StockMM == nil) && (a.StockMM == nil || *a.StockMM == *b.StockMM)
}

// change writes a value before and after, with the difference.
func change(was, then float64, decimals int, unit string) string {
	if math.Abs(was-then) < 0.5*math.Pow(10, -float64(decimals)) {
		return withUnit(decimal(was, decimals), unit) + " as before"
	}
	says := decimal(was, decimals) + " → " + withUnit(decimal(then, decimals), unit) + ", " + signedBy(then-was, decimals)
	if was > 0 {
		says += " (" + signedBy((then-was)/was*100, 0) + thin + "%)"
	}
	return says
}

func signedBy(v float64, decimals int) string {
	if v < 0 {
		return "−" + decimal(-v, decimals)
	}
	return "+" + decimal(v, decimals)
}

func screwChange(was, then jobs.ScrewView) string {
	words := func(w jobs.ScrewView) string {
		if w.StockMM == nil {
			return "none in stock fits " + decimal(w.MinMM, 1) + " to " + thicknessOf(w.MaxMM)
		}
		return thicknessOf(*w.StockMM)
	}
	if sameScrew(was, then) {
		return words(then) + " as before"
	}
	return words(was) + " → " + words(then)
}

func predictedWords(f jobs.Forecast) string {
	return jobs.Capital(forecastSentence("", f))
}
