package pages

import (
	"fmt"

	"tacet/jobs"
	"tacet/jobs/outcomes"
)

var _ = register(Page{Name: "record", Path: "/outcomes-correction", Firm: true, Roles: deciders, Get: getCorrection, Post: postCorrection, View: recordView{}})

// correctionView asks whether new predictions are to be shown beside what the firm's own jobs make of them, and says what
// that changes.
func correctionView(s outcomes.Summary) recordView {
	view := recordView{Where: []crumb{{"Outcomes", "/outcomes"}}, Answer: "Show new predictions beside what the firm's own jobs make of them?", Lead: []string{correctionSentence(s.Correction),
		"The prediction itself stays as it is: it is what is quoted and frozen, and what jobs are held against. Beside it stands the corrected value with its own uncertainty."}}
	for _, q := range s.Quantities {
		for _, f := range s.Families {
			for _, d := range f.Differences {
				if d.Quantity != q.Quantity {
					continue
				}
				for _, c := range s.Correct(f.Code, levelForecast(q.Quantity)) {
					view.Asked = append(view.Asked, pair{f.Code, shiftSentence(c)})
				}
			}
		}
	}
	if len(view.Asked) == 0 {
		view.Asked = []pair{{"What it would change", "Nothing yet: too few jobs were measured."}}
	}
	view.Form = form{Submit: "Show them", Hidden: []hidden{{"on", "true"}}, Fields: []field{{Kind: "area", Name: "reason", Label: "Reason"}}}
	if s.Correction.On {
		view.Answer = "Stop showing corrected predictions?"
		view.Form.Submit, view.Form.Hidden = "Stop showing them", []hidden{{"on", "false"}}
	}
	return view
}

func correctionSentence(c outcomes.CorrectionState) string {
	switch {
	case c.On:
		return "Shown beside new predictions: yes. " + sentence(c.Reason)
	case c.At != "":
		return "Shown beside new predictions: no. " + sentence(c.Reason)
	}
	return "Shown beside new predictions: no. Nobody has decided yet."
}

func shiftSentence(c outcomes.Corrected) string {
	return fmt.Sprintf("%s: %s, then ±\u202f%s, from %s of its own", jobs.QuantityName(c.Quantity), signedDB(c.ByDB), withUnit(decimal(c.UDB, 1), "dB"), jobs.Count(c.Jobs, "measured job"))
}

// levelForecast is a forecast of one quantity alone, to ask what a correction would change.
func levelForecast(quantity string) jobs.Forecast {
	v, rw := 45.0, 45
	switch quantity {
	case jobs.DnTwCtr:
		return jobs.Forecast{DnTwCtrDB: &v}
	case jobs.DnTw:
		return jobs.Forecast{DnTwDB: &v}
	case jobs.LnTw:
		return jobs.Forecast{LnTwDB: &v}
	}
	return jobs.Forecast{RwDB: &rw}
}

func getCorrection(v *visit) error {
	s, err := v.outcomes()
	if err != nil {
		return err
	}
	return v.ask(correctionView(s))
}

// postCorrection records the switch in the firm's own job.
func postCorrection(v *visit) error {
	s, err := v.outcomes()
	if err != nil {
		return err
	}
	view := correctionView(s)
	r := v.read(&view.Form, "correction")
	r.edge["on"] = v.c.FormValue("on") == "true"
	r.text("reason")
	return v.finish(view, r, &jobs.Job{ID: v.who.Company}, "/outcomes")
}

// CorrectedLines says what the firm's own jobs make of a surface's prediction as specified; none where the firm has not
// switched it on, or where too few were measured.
func CorrectedLines(s outcomes.Summary, j *jobs.Job, surface *jobs.Surface, f jobs.Forecast) []string {
	if !s.Correction.On {
		return nil
	}
	var lines []string
	for _, c := range s.Correct(outcomes.FamilyOf(surface.Kind, surface.Specified, j.Existing(surface)).Code, f) {
		lines = append(lines, sentence(c.Says))
	}
	return lines
}
