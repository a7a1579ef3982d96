package pages

import (
	"fmt"
	"slices"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/answer", Roles: judges, Get: getAnswer, Post: postAnswer, View: recordView{}})

// answerView is the supervisor's answer to a layer that is ready to be seen: in view of its checks and photos.
func answerView(v *visit, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) recordView {
	view := recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("May layer %d be covered?", l.N), Picture: pictureOf(j, s), BeforeTitle: "What is recorded",
		Lead: []string{layerName(l.Now) + ", " + stateWords(l) + "."}}
	cover := option{Value: string(jobs.AnswerCover), Label: "Cover it"}
	behind := hiddenBy(s, l)
	if open := slices.Concat(l.Open, behind); len(open) > 0 {
		cover.Hint = "This also releases, by your word: " + jobs.CheckNames(open) + "."
	}
	for _, c := range l.Open {
		view.Stops = append(view.Stops, c.Name()+": "+checkWords(j, c)+".")
	}
	for _, c := range behind {
		view.Stops = append(view.Stops, c.Name()+","+ofWhole+": "+checkWords(j, c)+".")
	}
	view.Form = form{Upload: true, Submit: "Record the answer", More: commonFields(), Hidden: slices.Concat(seen("sees", s.ChecksOf(l.N)), seen("sees_whole", behind)), Fields: []field{
		{Kind: "choice", Name: "answer", Label: "Your answer", Options: []option{cover,
			{Value: string(jobs.AnswerPutRight), Label: "Put this right first", Hint: "Say what in the note."},
			{Value: string(jobs.AnswerComing), Label: "I am coming"}}},
		noteField(), photoField("What you saw.")}}
	view.Before = v.recordLines(j, inForce(j, s, l.N), nil)
	return view
}

// seen are the answers that the visitor has before them: what comes later was not judged.
func seen(name string, checks []*jobs.Check) []hidden {
	var hs []hidden
	for _, c := range checks {
		for _, h := range c.Heads {
			hs = append(hs, hidden{name, h.ID})
		}
	}
	return hs
}

func getAnswer(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	return v.ask(answerView(v, j, s, l))
}

func postAnswer(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view := answerView(v, j, s, l)
	r := v.read(&view.Form, "audit")
	at(r.edge, s, l.N)
	answer := r.text("answer")
	if answer == string(jobs.AnswerPutRight) && r.text("note") == "" {
		r.f.complain("note", "Say what is to be put right.")
	}
	r.text("note")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	sees := formValues(v.c, "sees")
	if len(sees) > 0 {
		r.edge["sees"] = sees
	}
	var also []map[string]any
	if answer == string(jobs.AnswerCover) && len(l.Open) > 0 {
		also = append(also, releaseEdge(s, l.N, l.Open, sees))
	}
	if behind := hiddenBy(s, l); answer == string(jobs.AnswerCover) && len(behind) > 0 {
		also = append(also, releaseEdge(s, 0, behind, formValues(v.c, "sees_whole")))
	}
	return v.finish(view, r, j, surfacePath(j, s), also...)
}

// releaseEdge releases checks in view of the answers named.
func releaseEdge(s *jobs.Surface, layer int, checks []*jobs.Check, sees []string) map[string]any {
	codes := make([]string, len(checks))
	for i, c := range checks {
		codes[i] = c.Rule.Code
	}
	edge := map[string]any{"do": "release", "checks": codes}
	at(edge, s, layer)
	if len(sees) > 0 {
		edge["sees"] = sees
	}
	return edge
}
