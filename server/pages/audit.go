package pages

import (
	"fmt"
	"slices"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/answer", Roles: judges, Get: getAnswer, Post: postAnswer, View: recordView{}})

// answerView is the supervisor's answer to a layer that is ready to be seen, or was covered unseen: in view of its checks and photos.
func answerView(v *visit, j *jobs.Job, s *jobs.Surface, l *jobs.Layer) (recordView, inTheWay) {
	way := wayOf(j, s, l)
	view := recordView{Where: whereSurface(j, s), Answer: fmt.Sprintf("May layer %d be covered?", l.N), Picture: pictureOf(j, s), BeforeTitle: "What is recorded",
		Lead: []string{jobs.Capital(l.Name()) + ", " + stateWords(l) + "."}, Stops: way.Stops, Open: way.lines(j, s)}
	cover := option{Value: string(jobs.AnswerCover), Label: "Cover it"}
	right := option{Value: string(jobs.AnswerPutRight), Label: "Put this right first", Hint: "Say what in the note."}
	if l.CoveredUnseen {
		view.Answer = fmt.Sprintf("Layer %d was covered unseen. What is to be done?", l.N)
		cover.Label, right.Label = "Leave it covered", "Put this right"
	}
	if answerNeedsWhy(l, way) {
		cover.Hint = "Say why in the note."
	}
	if open := slices.Concat(way.Open, way.Behind); len(open) > 0 {
		cover.Hint = "This also releases, by your word: " + jobs.CheckNames(open) + ". " + fireWords(open) + cover.Hint
	}
	view.Form = form{Upload: true, Submit: "Record the answer", More: commonFields(), Hidden: slices.Concat(seen("sees", s.ChecksOf(l.N)), seen("sees_whole", way.Behind)), Fields: []field{
		{Kind: "choice", Name: "answer", Label: "Your answer", Options: []option{cover, right, {Value: string(jobs.AnswerComing), Label: "I am coming"}}},
		noteField(), photoField("What you saw.")}}
	view.Before = v.recordLines(j, inForce(j, s, l.N), nil)
	return view, way
}

// fireWords says of checks that are about to be released that those on fire are not a supervisor's to decide.
func fireWords(checks []*jobs.Check) string {
	fire := slices.DeleteFunc(slices.Clone(checks), func(c *jobs.Check) bool { return c.Rule.Stage != "fire" })
	if len(fire) == 0 {
		return ""
	}
	return "A release does not decide on fire safety (" + jobs.CheckNames(fire) + "): that is for whoever answers for it under the local code. "
}

// answerNeedsWhy tells whether a yes goes against something that is on the page, so that it has to say why.
func answerNeedsWhy(l *jobs.Layer, way inTheWay) bool { return way.must() || l.CoveredUnseen }

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
	view, _ := answerView(v, j, s, l)
	return v.ask(view)
}

func postAnswer(v *visit) error {
	j, s, l, err := v.layer()
	if err != nil {
		return err
	}
	view, way := answerView(v, j, s, l)
	r := v.read(&view.Form, "audit")
	at(r.edge, s, l.N)
	answer := r.text("answer")
	switch note := r.text("note"); {
	case note != "":
	case answer == string(jobs.AnswerPutRight):
		r.f.complain("note", "Say what is to be put right.")
	case answer == string(jobs.AnswerCover) && answerNeedsWhy(l, way):
		r.f.complain("note", "Say why it may be covered as it is.")
	}
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	sees := formValues(v.c, "sees")
	if len(sees) > 0 {
		r.edge["sees"] = sees
	}
	var also []map[string]any
	if answer == string(jobs.AnswerCover) && len(way.Open) > 0 {
		also = append(also, releaseEdge(s, l.N, way.Open, sees, r.edge["note"]))
	}
	if answer == string(jobs.AnswerCover) && len(way.Behind) > 0 {
		also = append(also, releaseEdge(s, 0, way.Behind, formValues(v.c, "sees_whole"), r.edge["note"]))
	}
	return v.finish(view, r, j, surfacePath(j, s), also...)
}

// releaseEdge releases checks in view of the answers named, for the reason that the answer gave.
func releaseEdge(s *jobs.Surface, layer int, checks []*jobs.Check, sees []string, why any) map[string]any {
	codes := make([]string, len(checks))
	for i, c := range checks {
		codes[i] = c.Rule.Code
	}
	edge := map[string]any{"do": "release", "checks": codes, "note": why}
	at(edge, s, layer)
	if len(sees) > 0 {
		edge["sees"] = sees
	}
	return edge
}
