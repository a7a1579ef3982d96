package pages

import (
	"fmt"
	"strconv"
	"strings"

	"tacet/jobs"
	"tacet/jobs/outcomes"
	"tacet/server/drawing"
)

// summaryCharts makes the charts of the summary by name.
var summaryCharts = map[string]func(outcomes.Summary) picturer{
	"complaints":  complaintsChart,
	"free":        func(s outcomes.Summary) picturer { return freeChart(s.Complaints.Free) },
	"measured":    func(s outcomes.Summary) picturer { return measuredChart(s.Families, firstQuantity(s)) },
	"differences": differencesChart,
	"groups":      groupsChart,
	"drivers":     driversChart,
	"calibration": calibrationChart,
	"change":      changeChart,
}

// familyCharts makes the charts of one family by name.
var familyCharts = map[string]func(outcomes.FamilySummary) picturer{
	"free": func(f outcomes.FamilySummary) picturer { return freeChart(f.Free) },
	"measured": func(f outcomes.FamilySummary) picturer {
		return measuredChart([]outcomes.FamilySummary{f}, ownQuantity(f))
	},
	"time":     timeChart,
	"residual": residualChart,
	"normal":   normalChart,
}

// firstQuantity is the quantity with the most jobs.
func firstQuantity(s outcomes.Summary) string {
	best := outcomes.Pooling{Quantity: jobs.DnTwCtr}
	for _, q := range s.Quantities {
		if q.Jobs > best.Jobs {
			best = q
		}
	}
	return best.Quantity
}

func ownQuantity(f outcomes.FamilySummary) string {
	if d := mostTested(f); d != nil {
		return d.Quantity
	}
	return jobs.DnTwCtr
}

// mostTested is the quantity of a family with the most jobs; nil without a test.
func mostTested(f outcomes.FamilySummary) *outcomes.DifferenceView {
	var best *outcomes.DifferenceView
	for i, d := range f.Differences {
		if best == nil || d.Own.N > best.Own.N {
			best = &f.Differences[i]
		}
	}
	return best
}

func rateRow(words string, r outcomes.Rate) drawing.ForestRow {
	row := drawing.ForestRow{Words: words, Low: r.Wilson.Low, High: r.Wilson.High, Beside: fmt.Sprintf("%d of %d", r.Events, r.N)}
	if r.Share != nil {
		row.Said, row.Value = true, *r.Share
	}
	return row
}

const shareAxis = "jobs with a complaint, of those heard from, % with 95 % interval; dashed: too few to say"

// mostRows keeps a chart readable; the table has the rest.
const mostRows = 20

func complaintsChart(s outcomes.Summary) picturer {
	f := drawing.Forest{Title: rateSentence(s.Complaints.Any), X: drawing.Axis{Words: shareAxis, Percent: true, Low: 0, High: 1},
		Rows: []drawing.ForestRow{rateRow("all jobs", s.Complaints.Any)}}
	var desc []string
	left := 0
	for _, fam := range s.Families {
		if fam.Complaints.N == 0 {
			continue
		}
		if len(f.Rows) > mostRows {
			left++
			continue
		}
		f.Rows = append(f.Rows, rateRow(fam.Code, fam.Complaints))
		desc = append(desc, fmt.Sprintf("%s %d of %d", fam.Code, fam.Complaints.Events, fam.Complaints.N))
	}
	f.Desc = "Complaints by family: " + strings.Join(desc, ", ") + "."
	if left > 0 {
		f.Desc += fmt.Sprintf(" %d more families are in the table.", left)
	}
	return f
}

// rateSentence is the answer of the page.
func rateSentence(r outcomes.Rate) string {
	switch {
	case r.N == 0:
		return "Nobody has been heard from since the work; nothing can be said of complaints."
	case r.Share == nil:
		return fmt.Sprintf("Complaints in %d of %s heard from after handover: too few to say.", r.Events, jobs.Count(r.N, "job"))
	}
	return fmt.Sprintf("Complaints in %d of %d jobs heard from after handover: %s (95 %% interval %s).", r.Events, r.N, shareWords(*r.Share), shareRange(r.Wilson))
}

func groupsChart(s outcomes.Summary) picturer {
	f := drawing.Forest{Title: "Complaints by what the jobs had in common", X: drawing.Axis{Words: shareAxis, Percent: true, Low: 0, High: 1}}
	var desc []string
	for _, g := range s.Complaints.By {
		f.Rows = append(f.Rows, drawing.ForestRow{Words: g.Title, Heading: true})
		for _, l := range g.Levels {
			if l.Rate.N+l.Rate.Unknown > 0 {
				f.Rows = append(f.Rows, rateRow(l.Level, l.Rate))
				desc = append(desc, fmt.Sprintf("%s, %s: %d of %d", g.Title, l.Level, l.Rate.Events, l.Rate.N))
			}
		}
	}
	f.Desc = strings.Join(desc, "; ") + ". What goes together does not cause each other."
	return f
}

func freeChart(f outcomes.Free) picturer {
	s := drawing.Steps{Title: freeSentence(f), X: drawing.Axis{Words: "months after the work"}, Lost: thinned(f.Censored), Last: f.Last}
	if f.Last > 12 && f.Last < 13.5 {
		s.X.Low, s.X.High = 0, 14 // the last asking is at month 12 or shortly after
	}
	for _, st := range f.Steps {
		s.Falls = append(s.Falls, drawing.Fall{At: st.Time, Share: st.Free, Low: st.Limits.Low, High: st.Limits.High})
	}
	s.Followed = append(s.Followed, drawing.StillFollowed{At: 0, N: f.N})
	desc := []string{fmt.Sprintf("%d followed at first", f.N)}
	for _, a := range f.At {
		s.Followed = append(s.Followed, drawing.StillFollowed{At: float64(a.Month), N: a.AtRisk})
		says := "not known"
		if a.Known {
			says = fmt.Sprintf("%s free, 95 %% %s", shareWords(a.Share), shareRange(a.Limits))
		}
		desc = append(desc, fmt.Sprintf("month %d: %s, %d still followed", a.Month, says, a.AtRisk))
	}
	s.Desc = strings.Join(desc, "; ") + ". Dashed: 95 % limits; short strokes: jobs of which nothing was heard after that."
	return s
}

// thinned keeps a chart of thousands of jobs light: of many strokes every so many are drawn.
func thinned(ts []float64) []float64 {
	const most = 120
	if len(ts) <= most {
		return ts
	}
	var out []float64
	for i := range most {
		out = append(out, ts[i*len(ts)/most])
	}
	return out
}

func freeSentence(f outcomes.Free) string {
	for i := len(f.At) - 1; i >= 0; i-- {
		if a := f.At[i]; a.Known {
			return fmt.Sprintf("Without a complaint after %s: %s of jobs (95 %% interval %s).", jobs.Count(a.Month, "month"), shareWords(a.Share), shareRange(a.Limits))
		}
	}
	return "Too few were followed to say how many stay without a complaint."
}

func measuredChart(families []outcomes.FamilySummary, quantity string) picturer {
	name := jobs.QuantityName(quantity)
	d := drawing.Dots{Square: true, X: drawing.Axis{Words: "predicted, dB"}, Y: drawing.Axis{Words: "measured, dB. Bars: standard uncertainty of the prediction; filled signs were frozen in a quote; thick: mean difference with 95 % interval"},
		Lines: []drawing.Stretch{{A: drawing.Point{X: -500, Y: -500}, B: drawing.Point{X: 500, Y: 500}}}}
	n, frozen := 0, 0
	var desc []string
	for _, f := range families {
		for _, v := range f.Differences {
			if v.Quantity != quantity {
				continue
			}
			kind := len(d.Names) % 4
			var mean float64
			for _, p := range v.Points {
				dot := drawing.Dot{X: p.PredictedDB, Y: p.MeasuredDB, Marker: kind, Hollow: !p.Frozen}
				if p.UDB != nil {
					dot.WhiskX, dot.XLow, dot.XHigh = true, p.PredictedDB-*p.UDB, p.PredictedDB+*p.UDB
				}
				d.Points = append(d.Points, dot)
				mean += p.PredictedDB / float64(len(v.Points))
				n++
			}
			frozen += v.Frozen
			d.Names = append(d.Names, fmt.Sprintf("%s, n = %d", f.Code, v.Own.N))
			if v.Own.N >= outcomes.FewestForRate {
				d.Lines = append(d.Lines, drawing.Stretch{A: drawing.Point{X: mean, Y: mean + v.Own.Interval.Low}, B: drawing.Point{X: mean, Y: mean + v.Own.Interval.High}, Thick: true})
				desc = append(desc, fmt.Sprintf("%s %s, 95 %% %s, n = %d", f.Code, signedDB(*v.Own.Mean), signedRange(*v.Own.Interval, "dB"), v.Own.N))
			} else {
				desc = append(desc, fmt.Sprintf("%s n = %d, too few to say", f.Code, v.Own.N))
			}
		}
	}
	if len(d.Names) > 8 {
		d.Names = nil // signs would repeat; the table tells the families apart
	}
	d.Title = fmt.Sprintf("%s: measured against predicted, %s, %d of them frozen in a quote", name, jobs.Count(n, "job"), frozen)
	d.Desc = "Mean of measured less predicted: " + strings.Join(desc, "; ") + "."
	return d
}

func differencesChart(s outcomes.Summary) picturer {
	q := firstQuantity(s)
	zero := 0.0
	f := drawing.Forest{Mark: &zero, X: drawing.Axis{Words: jobs.QuantityName(q) + ", measured less predicted, dB: mean of each family, with 95 % interval"}}
	for _, p := range s.Quantities {
		if p.Quantity == q && p.Partly {
			f.X.Words = jobs.QuantityName(q) + ", measured less predicted, dB: mean of each family drawn towards the others, with 95 % interval"
		}
	}
	var desc []string
	for _, fam := range s.Families {
		for _, d := range fam.Differences {
			if d.Quantity != q || d.Pooled == nil || len(f.Rows) >= mostRows {
				continue
			}
			p := d.Pooled
			f.Rows = append(f.Rows, drawing.ForestRow{Words: fam.Code, Value: p.MeanDB, Said: d.Own.N >= outcomes.FewestForRate, Low: p.Interval.Low, High: p.Interval.High, Beside: "n = " + itoa(d.Own.N)})
			desc = append(desc, fmt.Sprintf("%s %s, 95 %% %s, n = %d", fam.Code, signedDB(p.MeanDB), signedRange(p.Interval, "dB"), d.Own.N))
		}
	}
	f.Title = "Measured less predicted by family, " + jobs.QuantityName(q)
	f.Desc = strings.Join(desc, "; ") + "."
	return f
}

func driversChart(s outcomes.Summary) picturer {
	one := 1.0
	f := drawing.Forest{Title: "What goes with trouble after the work", Mark: &one, X: drawing.Axis{Words: "odds ratio for one step, with 95 % interval; right of 1: more often with trouble. This does not say why", Low: 0.1, High: 10, Log: true}}
	var desc []string
	for _, e := range s.Drivers.Effects {
		f.Rows = append(f.Rows, drawing.ForestRow{Words: e.Words, Value: e.OddsRatio, Said: true, Low: e.Interval.Low, High: e.Interval.High, Beside: "× " + ratio(e.OddsRatio)})
		desc = append(desc, fmt.Sprintf("%s, %s: × %s, 95 %% %s to %s", e.Words, e.Step, ratio(e.OddsRatio), ratio(e.Interval.Low), ratio(e.Interval.High)))
	}
	f.Desc = strings.Join(desc, "; ") + "."
	if s.Drivers.Refused != "" {
		f.Title, f.Desc = "Not fitted", s.Drivers.Refused
	}
	return f
}

// ratio writes an odds ratio with two or three figures.
func ratio(v float64) string {
	switch {
	case v >= 1000 || v < 0.001:
		return strconv.FormatFloat(v, 'e', 1, 64)
	case v >= 10:
		return decimal(v, 0)
	case v >= 0.1:
		return strconv.FormatFloat(v, 'f', 2, 64)
	}
	return strconv.FormatFloat(v, 'g', 2, 64)
}

func calibrationChart(s outcomes.Summary) picturer {
	d := drawing.Dots{Title: "Trouble predicted against what happened", Square: true, X: drawing.Axis{Words: "predicted share, %", Percent: true, Low: 0, High: 1}, Y: drawing.Axis{Words: "observed share, % with 95 % interval; on the line, it was as predicted", Percent: true, Low: 0, High: 1},
		Lines: []drawing.Stretch{{A: drawing.Point{}, B: drawing.Point{X: 1, Y: 1}}}}
	var desc []string
	if fit := s.Drivers.Fit; fit != nil {
		for _, g := range fit.Calibration {
			d.Points = append(d.Points, drawing.Dot{X: g.Predicted, Y: g.Observed, WhiskY: true, YLow: g.Limits.Low, YHigh: g.Limits.High, Marker: 1})
			desc = append(desc, fmt.Sprintf("predicted %s, observed %s of %d", shareWords(g.Predicted), shareWords(g.Observed), g.N))
		}
	}
	d.Desc = strings.Join(desc, "; ") + "."
	return d
}

func changeChart(s outcomes.Summary) picturer {
	zero := 0.0
	f := drawing.Forest{Title: "How the noise is judged after the work, less before, 0 to 10", Mark: &zero, X: drawing.Axis{Words: "mean change with 95 % interval; left of 0 is better; dashed: too few to say", Low: -10, High: 10}}
	var desc []string
	for _, c := range s.Before {
		if c.Mean.N < 2 {
			continue
		}
		f.Rows = append(f.Rows, drawing.ForestRow{Words: c.Heard, Value: *c.Mean.Mean, Said: c.Enough, Low: c.Mean.Interval.Low, High: c.Mean.Interval.High, Beside: "n = " + itoa(c.Mean.N)})
		if c.Enough {
			desc = append(desc, fmt.Sprintf("%s %s, 95 %% %s, n = %d", c.Heard, signed(*c.Mean.Mean), signedRange(*c.Mean.Interval, ""), c.Mean.N))
		}
	}
	f.Desc = strings.Join(desc, "; ") + "."
	return f
}

func timeChart(f outcomes.FamilySummary) picturer {
	d := drawing.Dots{Title: "Measured less predicted over time", X: drawing.Axis{Words: "year", Whole: true}, Y: drawing.Axis{Words: "measured less predicted, dB; dashed: drift where there are enough to say"}}
	v := mostTested(f)
	if v == nil {
		d.Title, d.Desc = "Nothing measured yet", "No job of this family was tested."
		return d
	}
	d.Title = jobs.QuantityName(v.Quantity) + ": " + driftSentence(*v)
	var desc []string
	years := make([]float64, len(v.Points))
	for i, p := range v.Points {
		years[i] = float64(p.At.Year()) + float64(p.At.YearDay()-1)/366
		d.Points = append(d.Points, drawing.Dot{X: years[i], Y: p.DifferenceDB(), Hollow: !p.Frozen})
		desc = append(desc, p.At.Format("Jan 2006")+" "+signedDB(p.DifferenceDB()))
	}
	d.Lines = []drawing.Stretch{{A: drawing.Point{X: 0, Y: 0}, B: drawing.Point{X: 9999, Y: 0}}}
	if s := v.Drift; s != nil && v.Own.Mean != nil {
		var mid float64
		for _, y := range years {
			mid += y / float64(len(years))
		}
		d.Lines = append(d.Lines, drawing.Stretch{A: drawing.Point{X: mid - 50, Y: *v.Own.Mean - 50*s.PerYear}, B: drawing.Point{X: mid + 50, Y: *v.Own.Mean + 50*s.PerYear}, Dashed: true})
	}
	d.Desc = strings.Join(desc, "; ") + "."
	return d
}

// residualChart shows whether the difference depends on what was predicted: what is left over should lie without a slope.
func residualChart(f outcomes.FamilySummary) picturer {
	d := drawing.Dots{Title: "Measured less predicted against predicted", X: drawing.Axis{Words: "predicted, dB"}, Y: drawing.Axis{Words: "measured less predicted, dB; line at 0; dashed: mean. Filled signs were frozen in a quote"}}
	v := mostTested(f)
	if v == nil {
		d.Title, d.Desc = "Nothing measured yet", "No job of this family was tested."
		return d
	}
	d.Title = jobs.QuantityName(v.Quantity) + ": measured less predicted against predicted"
	least, most := v.Points[0].PredictedDB, v.Points[0].PredictedDB
	for _, p := range v.Points {
		least, most = min(least, p.PredictedDB), max(most, p.PredictedDB)
		d.Points = append(d.Points, drawing.Dot{X: p.PredictedDB, Y: p.DifferenceDB(), Hollow: !p.Frozen})
	}
	d.Lines = []drawing.Stretch{{A: drawing.Point{X: -500}, B: drawing.Point{X: 500}}}
	if v.Own.N >= outcomes.FewestForRate {
		d.Lines = append(d.Lines, drawing.Stretch{A: drawing.Point{X: -500, Y: *v.Own.Mean}, B: drawing.Point{X: 500, Y: *v.Own.Mean}, Dashed: true})
	}
	d.Desc = fmt.Sprintf("%s, predicted %s to %s.", jobs.Count(len(v.Points), "job"), withUnit(decimal(least, 1), "dB"), withUnit(decimal(most, 1), "dB"))
	return d
}

func driftSentence(d outcomes.DifferenceView) string {
	s := d.Drift
	if s == nil {
		return "too few, or over too short a time, to say whether it drifts"
	}
	says := fmt.Sprintf("drift %s per year, 95 %% %s", signedDB(s.PerYear), signedRange(s.Interval, "dB"))
	if s.Interval.Holds(0) {
		return says + "; none can be told"
	}
	return says
}

func normalChart(f outcomes.FamilySummary) picturer {
	d := drawing.Dots{Title: "Differences against a normal law", X: drawing.Axis{Words: "expected if normal, standard deviations"}, Y: drawing.Axis{Words: "measured less predicted, dB; the straighter, the more normal"}}
	v := mostTested(f)
	if v == nil || v.Own.SD == nil {
		d.Title, d.Desc = "Too few to say", "Fewer than two jobs of this family were tested."
		return d
	}
	values := make([]float64, len(v.Points))
	for i, p := range v.Points {
		values[i] = p.DifferenceDB()
	}
	sorted, scores := outcomes.NormalScores(values)
	for i := range sorted {
		d.Points = append(d.Points, drawing.Dot{X: scores[i], Y: sorted[i]})
	}
	d.Lines = []drawing.Stretch{{A: drawing.Point{X: -5, Y: *v.Own.Mean - 5**v.Own.SD}, B: drawing.Point{X: 5, Y: *v.Own.Mean + 5**v.Own.SD}}}
	d.Desc = fmt.Sprintf("%s of %s, from %s to %s.", jobs.Count(len(sorted), "difference"), jobs.QuantityName(v.Quantity), signedDB(sorted[0]), signedDB(sorted[len(sorted)-1]))
	return d
}
