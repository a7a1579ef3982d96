package pages

import (
	"fmt"
	"strconv"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/drawing"
)

var (
	_ = register(Page{Name: "office", Path: "/jobs/:job/s/:surface/prediction", Roles: deciders, Get: getPrediction, View: officeView{}})
	_ = register(Page{Path: "/jobs/:job/s/:surface/curve-:width.svg", Roles: deciders, Get: getCurve})
)

// getPrediction shows what is predicted of a surface: the sentence, the three predictions, the third-octave picture, what was
// frozen, and what each fault costs.
func getPrediction(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	if len(s.Layers) == 0 {
		view := officeView{Where: whereSurface(j, s), Answer: "Nothing is specified for " + s.Code + " yet: there is nothing to predict.", Do: step{"Specify " + s.Code, surfacePath(j, s) + "/specify"}}
		view.frame = v.frame(s.Code + ": prediction")
		return v.show("office", view)
	}
	f := j.PredictSurface(s)
	lines := forecastLines(f, j.TargetsFor(s))
	view := officeView{Where: whereSurface(j, s), Answer: lines[0].Says, Measured: measuredLines(j, s), Picture: pictureOf(j, s), Cautions: openLines(j, s)}
	view.Lead = append(view.Lead, lines[0].Plain...)
	for _, l := range lines[1:] {
		view.Lead = append(view.Lead, l.Says)
	}
	learnt, err := v.outcomes()
	if err != nil {
		return err
	}
	view.Lead = append(view.Lead, CorrectedLines(learnt, j, s, f.Specified)...)
	for _, w := range s.Warnings {
		view.Warnings = append(view.Warnings, sentence(w))
	}
	three := table{Caption: "A prediction, not a promise. ± is one standard uncertainty: the truth lies within it about two times in three.", Head: []string{"Rw", "C", "Ctr", "DnT,w", "DnT,w + Ctr", "L′nT,w", "±", "chance"}}
	for _, l := range []struct {
		name string
		f    jobs.Forecast
	}{{"As specified", f.Specified}, {"As installed", f.Installed}, {"As found", f.AsFound}} {
		r := rowOf(l.f)
		three.row(l.name, r.Rw, termOf(l.f.CDB), termOf(l.f.CtrDB), r.DnTw, r.DnTwCtr, r.LnTw, strings.TrimPrefix(r.U, "± "), r.Chance)
	}
	three.known()
	predicted := officePart{Title: "The three predictions", Empty: "There is none in figures.", Steps: []step{{"Change the layers", surfacePath(j, s) + "/specify"}}}
	if len(three.Rows) > 0 {
		predicted.Tables = []table{three}
	}
	view.Parts = append(view.Parts, predicted)
	if f.Specified.R != nil {
		view.Parts = append(view.Parts, curvePart(j, s, f), officePart{Title: "The same as numbers", Closed: true, Tables: []table{curveTable(curveOf(j, s, f))}})
	}
	view.Parts = append(view.Parts, frozenPart(v, j, s, f.Specified), costsPart(j, s, f))
	said := map[string]bool{}
	for _, l := range lines {
		view.Notes = append(view.Notes, newNotes(l.Notes, said)...)
	}
	if known(f.Specified) && !f.Specified.Validated {
		view.Notes = append(view.Notes, "Not validated: no measured build-up like this one stands behind the calculation, and its uncertainty is our own estimate.")
	}
	view.frame = v.frame(s.Code + ": prediction")
	return v.show("office", view)
}

func termOf(v *int) string {
	if v == nil {
		return dash
	}
	return strings.Replace(withUnit(itoa(*v), "dB"), "-", "−", 1)
}

// curveOf is the picture of a surface's predictions by band, with measurements of R where there are any.
func curveOf(j *jobs.Job, s *jobs.Surface, f jobs.Forecasts) drawing.Curves {
	c := drawing.Curves{Words: "R, dB"}
	add := func(words string, r *acoustics.Curve, tone drawing.Tone, dashes []float64, spread *float64) {
		if r == nil {
			return
		}
		l := drawing.CurveLine{Words: words, Tone: tone, Dash: dashes, Points: bandValues(*r)}
		if spread != nil {
			l.Spread = *spread
		}
		c.Lines = append(c.Lines, l)
	}
	add("as specified", f.Specified.R, drawing.Accent, nil, f.Specified.UDB)
	add("as installed", f.Installed.R, drawing.Ink, []float64{14, 4, 2, 4}, nil) // in grey it is told from as specified by this
	add("as found", f.AsFound.R, drawing.Ink, []float64{6, 4}, nil)
	for _, t := range j.TestVerdicts() {
		if t.Test.Quantity == jobs.Rw && t.Test.BandsDB.Len() > 0 && namesSurface(t.Test.Surfaces, s.Code) {
			c.Lines = append(c.Lines, drawing.CurveLine{Words: "measured", Tone: drawing.Ink, Dash: []float64{1, 3}, Markers: true, Points: bandValues(t.Test.BandsDB)})
		}
	}
	if f.Specified.RwDB != nil {
		c.Reference = bandValues(acoustics.ReferenceAirborne(*f.Specified.RwDB))
		c.Title = fmt.Sprintf("Predicted as specified: Rw %d dB", *f.Specified.RwDB)
		if f.Specified.UDB != nil {
			c.Title += plusMinus + uncertainty(*f.Specified.UDB)
		}
	}
	c.Desc = "Sound reduction index by third-octave band, " + spanWords(c.Lines) + ". The reference curve of ISO 717-1 stands where it is rated; strokes mark the bands that fall short of it. The band round the line is one standard uncertainty of the single number, not of each band. All values are in the table."
	return c
}

func namesSurface(codes []string, code string) bool {
	for _, c := range codes {
		if strings.EqualFold(c, code) {
			return true
		}
	}
	return false
}

func spanWords(lines []drawing.CurveLine) string {
	if len(lines) == 0 || len(lines[0].Points) == 0 {
		return "no values"
	}
	p := lines[0].Points
	return fmt.Sprintf("from %s dB at %d Hz to %s dB at %d Hz", decimal(p[0].DB, 0), p[0].Hz, decimal(p[len(p)-1].DB, 0), p[len(p)-1].Hz)
}

func bandValues(c acoustics.Curve) []drawing.BandValue {
	var out []drawing.BandValue
	for hz, db := range c.All() {
		out = append(out, drawing.BandValue{Hz: hz, DB: db})
	}
	return out
}

func curvePart(j *jobs.Job, s *jobs.Surface, f jobs.Forecasts) officePart {
	c := curveOf(j, s, f)
	p := officePart{Title: "By third-octave band", Chart: curveChart{Base: surfacePath(j, s) + "/curve", V: len(j.Records), Alt: sentence(c.Title) + " " + c.Desc}}
	return p
}

// curveTable has the numbers of a chart of curves.
func curveTable(c drawing.Curves) table {
	t := table{Caption: "R in dB by third-octave band."}
	at := map[int]map[string]string{}
	var bands []int
	put := func(words string, points []drawing.BandValue) {
		t.Head = append(t.Head, words)
		for _, p := range points {
			if at[p.Hz] == nil {
				at[p.Hz] = map[string]string{}
				bands = append(bands, p.Hz)
			}
			at[p.Hz][words] = strconv.FormatFloat(p.DB, 'f', 1, 64) // all with one place, so that they stand under each other
		}
	}
	for _, l := range c.Lines {
		put(l.Words, l.Points)
	}
	if len(c.Reference) > 0 {
		put("reference", c.Reference)
	}
	for _, hz := range bands {
		var cells []string
		for _, h := range t.Head {
			says := at[hz][h]
			if says == "" {
				says = dash
			} else {
				says = withUnit(says, "dB")
			}
			cells = append(cells, says)
		}
		t.row(withUnit(strconv.Itoa(hz), "Hz"), cells...)
	}
	return t
}

func getCurve(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	c := curveOf(j, s, j.PredictSurface(s))
	return v.drawn(len(c.Lines) > 0, func() picturer { return c })
}

// frozenPart puts the prediction that was quoted beside the one of today.
func frozenPart(v *visit, j *jobs.Job, s *jobs.Surface, now jobs.Forecast) officePart {
	p := officePart{Title: "Frozen with the quote", Empty: "Nothing was quoted: no prediction is frozen.", Steps: []step{{"Quote " + s.Code, surfacePath(j, s) + "/quote"}}}
	fz := j.FrozenFor(s)
	if fz == nil {
		return p
	}
	level := func(x *float64) string {
		if x == nil {
			return dash
		}
		return predictedOf(*x)
	}
	t := table{Caption: "Frozen " + v.stamp(fz.At) + "; nobody can change it.", Head: []string{"Rw", "DnT,w", "DnT,w + Ctr", "L′nT,w", "chance"}}
	chanceWas := dash
	if fz.PMeets != nil {
		chanceWas = chance(*fz.PMeets)
	}
	t.row("As quoted", level(fz.RwDB), level(fz.DnTwDB), level(fz.DnTwCtrDB), level(fz.LnTwDB), chanceWas)
	r := rowOf(now)
	t.row("As specified now", r.Rw, r.DnTw, r.DnTwCtr, r.LnTw, r.Chance)
	if t.known(); len(t.Rows) > 0 {
		p.Tables = []table{t}
	} else {
		p.Empty = "It was quoted without a prediction in figures."
	}
	if fz.Respecified {
		p.Says = []string{"The layers were respecified since: what was quoted is not what is specified now."}
	}
	return p
}

// placeOf says where something is: C1, layer 3.
func placeOf(on jobs.On) string {
	if on.Layer > 0 {
		return fmt.Sprintf("%s, layer %d", on.Surface, on.Layer)
	}
	return on.Surface
}
