package pages

import (
	"slices"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "record", Path: "/jobs/:job/caution/:code", Roles: everybody, Get: getCaution, Post: postCaution, View: recordView{}})
	_ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/caution/:code", Roles: everybody, Get: getCaution, Post: postCaution, View: recordView{}})
)

func cautionPath(j *jobs.Job, s *jobs.Surface, code string) string {
	if s == nil {
		return jobPath(j) + "/caution/" + code
	}
	return surfacePath(j, s) + "/caution/" + code
}

// cautionOn is what the question is asked of, the job or a surface, and which one it is.
func (v *visit) cautionOn() (*jobs.Job, *jobs.Surface, jobs.CautionQuestion, error) {
	none := jobs.CautionQuestion{}
	qs := jobs.CautionQuestions()
	i := slices.IndexFunc(qs, func(q jobs.CautionQuestion) bool { return q.Code == v.param("code") })
	if i < 0 {
		return nil, nil, none, jobs.ErrNotFound
	}
	if v.param("surface") == "" {
		j, err := v.job()
		return j, nil, qs[i], err
	}
	j, s, err := v.surface()
	return j, s, qs[i], err
}

// cautionView keeps what somebody competent has decided. The program asks; it never answers.
func cautionView(v *visit, j *jobs.Job, s *jobs.Surface, q jobs.CautionQuestion) recordView {
	view := recordView{Where: whereJob(j), Answer: jobs.Capital(q.Code), Lead: []string{q.Asks, "This is for " + q.Who + ". Record what they decided, and who they are."}, BeforeTitle: "Answered before",
		Form: form{Upload: true, Submit: "Record the answer", More: commonFields(), Fields: []field{
			{Kind: "area", Name: "answer", Label: "What was decided"}, {Kind: "text", Name: "decided_by", Label: "Decided by", Hint: "Name, trade and number of the letter or certificate."},
			photoField("The letter, the label, the certificate.")}}}
	if s != nil {
		view.Where = whereSurface(j, s)
	}
	var before []*jobs.Record
	for _, r := range j.Of("caution") {
		d, ok := r.What.(*jobs.Caution)
		if ok && d.Code == q.Code && (s == nil || (d.Surface == "" || j.Surface(d.Surface) == s) && (d.Structure == "" || d.Structure == s.Structure)) {
			before = append(before, r)
		}
	}
	view.Before = v.placedLines(j, before, v.states(j))
	return view
}

func getCaution(v *visit) error {
	j, s, q, err := v.cautionOn()
	if err != nil {
		return err
	}
	return v.ask(cautionView(v, j, s, q))
}

func postCaution(v *visit) error {
	j, s, q, err := v.cautionOn()
	if err != nil {
		return err
	}
	view := cautionView(v, j, s, q)
	r := v.read(&view.Form, "caution")
	to := jobPath(j)
	if s != nil {
		to = surfacePath(j, s)
		if q.Code == jobs.CautionLoad && s.Structure != "" {
			r.edge["structure"] = s.Structure // what carries it carries the other surfaces too
		} else {
			r.edge["surface"] = s.Code
		}
	}
	r.edge["code"] = q.Code
	r.text("answer")
	r.text("decided_by")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, to)
}
