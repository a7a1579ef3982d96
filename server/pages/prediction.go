package pages

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"tacet/jobs"
)

// forecastLine is one of the three predictions of a surface as a sentence.
type forecastLine struct {
	Basis string // As specified
	Says  string
	Plain []string // what has to be known with it
	Notes []string
	row   forecastRow
}

// forecastRow is the same as numbers, each with its unit, or a dash.
type forecastRow struct{ Rw, DnTw, DnTwCtr, LnTw, U, Chance string }

// Row is for the template.
func (f forecastLine) Row() forecastRow { return f.row }

// forecastLines are the predictions that say something: as specified always, the others once something is in place.
func forecastLines(f jobs.Forecasts, targets []jobs.Target) []forecastLine {
	lines := []forecastLine{lineOf("As specified", f.Specified, targets)}
	if known(f.Installed) {
		lines = append(lines, lineOf("As installed", f.Installed, targets))
	}
	if known(f.AsFound) {
		lines = append(lines, lineOf("As found", f.AsFound, targets))
	}
	said := saidAbove()
	for i := range lines {
		lines[i].Notes = newNotes(lines[i].Notes, said)
	}
	return lines
}

// saidAbove are the notes that stand under the sentence already.
func saidAbove() map[string]bool { return map[string]bool{jobs.NoExisting: true} }

// hyphenMinus is a number below zero as programs write it.
var hyphenMinus = regexp.MustCompile(`(^|[\s(])-([0-9])`)

// newNotes are the notes that were not said before, as sentences.
func newNotes(notes []string, said map[string]bool) []string {
	var fresh []string
	for _, n := range notes {
		if !said[n] {
			said[n] = true
			fresh = append(fresh, sentence(hyphenMinus.ReplaceAllString(strings.ReplaceAll(n, "R_w", "Rw"), "$1−$2")))
		}
	}
	return fresh
}

func known(f jobs.Forecast) bool { return f.RwDB != nil }

func lineOf(basis string, f jobs.Forecast, targets []jobs.Target) forecastLine {
	return forecastLine{Basis: basis, Says: forecastSentence(basis, f), Plain: plainOf(f, targets), Notes: f.Notes, row: rowOf(f)}
}

// plainOf is what stands in plain type under the sentence of a prediction: that nothing exists behind it, impact sound, and what goes round.
func plainOf(f jobs.Forecast, targets []jobs.Target) []string {
	alone := ""
	if known(f) && slices.Contains(f.Notes, jobs.NoExisting) {
		alone = sentence(jobs.NoExisting)
	}
	return slices.DeleteFunc([]string{alone, impactSentence(f, targets), flankingSentence(f)}, func(s string) bool { return s == "" })
}

// forecastOnPaper is a prediction where no table beside it explains the figures.
func forecastOnPaper(basis string, f jobs.Forecast) string {
	says := forecastSentence(basis, f)
	if strings.Contains(says, "±") {
		says += " ± is one standard uncertainty."
	}
	return strings.TrimSpace(says + " " + flankingSentence(f))
}

// forecastSentence says a prediction in the quantity of its target, with the standard uncertainty and the chance of passing;
// where there is no value between rooms it says which value it gives instead.
func forecastSentence(basis string, f jobs.Forecast) string {
	if !known(f) {
		why := "it is not predicted"
		if len(f.Notes) > 0 {
			why = strings.TrimSuffix(f.Notes[0], ".")
		}
		return sentence(strings.TrimPrefix(basis+": "+why, ": "))
	}
	name, value, u := "Rw", float64(*f.RwDB), f.UDB
	if t := f.Target; t != nil {
		if v := map[string]*float64{jobs.DnTw: f.DnTwDB, jobs.DnTwCtr: f.DnTwCtrDB}[t.Quantity]; v != nil {
			name, value, u = jobs.QuantityName(t.Quantity), *v, f.USiteDB
		}
	} else if f.DnTwDB != nil {
		name, value, u = jobs.QuantityName(jobs.DnTw), *f.DnTwDB, f.USiteDB
	}
	says := strings.TrimPrefix(basis+": ", ": ") + name + " " + predictedOf(value)
	if u != nil {
		says += plusMinus + uncertainty(*u)
	}
	if t := f.Target; t != nil && f.PMeets != nil {
		says += ", target " + decimal(t.ValueDB, 1) + ", chance of passing " + chanceOf(f)
	}
	return says + "."
}

// impactSentence says what is predicted of footsteps, where there is a target for them.
func impactSentence(f jobs.Forecast, targets []jobs.Target) string {
	i := slices.IndexFunc(targets, jobs.Target.Impact)
	if f.LnTwDB == nil || i < 0 {
		return ""
	}
	return fmt.Sprintf("Impact sound %s %s, limit %s; what goes round is left out, and how far it is off is not known.",
		predictedOf(*f.LnTwDB), jobs.QuantityName(jobs.LnTw), levelOf(targets[i].ValueDB))
}

// leavesOut tells whether the values that a prediction is judged by leave out what goes round the partition.
func leavesOut(f jobs.Forecast) bool {
	return f.FlankingUnknown && f.DnTwDB != nil && !(f.Target != nil && f.Target.Quantity == jobs.Rw)
}

func flankingSentence(f jobs.Forecast) string {
	if !leavesOut(f) {
		return ""
	}
	return "Flanking is not known and left out: the finished result will be lower."
}

// chanceOf is the chance of passing; where flanking is not known it is only the most it can be.
func chanceOf(f jobs.Forecast) string {
	p := *f.PMeets
	switch {
	case !leavesOut(f), p < 0.01:
		return chance(p)
	case p > 0.99:
		return "at most " + withUnit("99", "%")
	}
	return "at most " + chance(p)
}

const dash = "–"

func rowOf(f jobs.Forecast) forecastRow {
	r := forecastRow{dash, dash, dash, dash, dash, dash}
	level := func(v *float64) string {
		if v == nil {
			return dash
		}
		return predictedOf(*v)
	}
	if f.RwDB != nil {
		r.Rw = predictedOf(float64(*f.RwDB))
	}
	r.DnTw, r.DnTwCtr, r.LnTw = level(f.DnTwDB), level(f.DnTwCtrDB), level(f.LnTwDB)
	if f.USiteDB != nil {
		r.U = "± " + uncertainty(*f.USiteDB) + thin + "dB"
	} else if f.UDB != nil {
		r.U = "± " + uncertainty(*f.UDB) + thin + "dB"
	}
	if f.PMeets != nil {
		r.Chance = chanceOf(f)
	}
	return r
}
