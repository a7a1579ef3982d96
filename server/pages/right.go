package pages

import (
	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/right/:over", Roles: everybody, Get: getRight, Post: postRight, View: recordView{}})

// causes are the causes of what had to be put right, as people say them: by cause, not by blame.
var causes = map[jobs.Cause]string{
	jobs.CauseMaterial: "Material", jobs.CauseMethod: "Method", jobs.CauseDrawing: "Drawing or specification",
	jobs.CauseOtherTrade: "Another trade", jobs.CauseHaste: "Haste", jobs.CauseNotTold: "Nobody was told",
}

func rightView(v *visit, j *jobs.Job, s *jobs.Surface, r *jobs.Record) recordView {
	cause := field{Kind: "choice", Name: "cause", Label: "Why it was wrong"}
	for _, c := range jobs.Causes() {
		cause.Options = append(cause.Options, option{Value: string(c), Label: causes[c]})
	}
	return recordView{Where: whereSurface(j, s), Answer: "It was put right", BeforeTitle: "What was found",
		Form: form{Upload: true, Submit: "Record it put right", More: commonFields(), Fields: []field{cause,
			{Kind: "decimal", Name: "hours", Label: "Time it took", Unit: "h", Hint: "All people together."},
			photoField("How it is now."), noteField()}},
		Before: v.recordLines(j, []*jobs.Record{r}, v.states(j))}
}

// named is the record of the job that the path names.
func (v *visit) named(j *jobs.Job, param string) (*jobs.Record, error) {
	if r := j.ByID(v.param(param)); r != nil {
		return r, nil
	}
	return nil, jobs.ErrNotFound
}

func getRight(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	over, err := v.named(j, "over")
	if err != nil {
		return err
	}
	return v.ask(rightView(v, j, s, over))
}

func postRight(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	over, err := v.named(j, "over")
	if err != nil {
		return err
	}
	view := rightView(v, j, s, over)
	r := v.read(&view.Form, "put_right")
	r.edge["over"] = over.ID
	r.text("cause")
	r.numberInto("hours")
	r.text("note")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, surfacePath(j, s))
}
