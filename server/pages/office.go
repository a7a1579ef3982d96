package pages

import (
	"slices"
	"strings"

	"tacet/jobs"
)

var _ = register(Page{Name: "office", Path: "/jobs/:job/office", Roles: deciders, Get: getOffice, View: officeView{}})

// getOffice is the job as the office keeps it: what it consists of, and where each part is written.
func getOffice(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	base := jobPath(j)
	view := officeView{Where: whereJob(j), Answer: "The office's side of " + j.Name}
	for _, w := range slices.Concat(j.Warnings, j.Ahead()) {
		if strings.HasPrefix(w, "NO BASELINE") {
			view.Stops = append(view.Stops, sentence(w))
		} else {
			view.Warnings = append(view.Warnings, sentence(w))
		}
	}
	job := officePart{Title: "The job", Asked: []pair{{"Name", j.Name}}, Steps: []step{{"Change it", base + "/describe"}}}
	if j.Site != "" {
		job.Asked = append(job.Asked, pair{"Site", j.Site})
	}
	for _, t := range j.Targets {
		says := jobs.Capital(targetWords(t))
		if t.Source != "" {
			says += ", " + t.Source
		}
		job.Asked = append(job.Asked, pair{"To be reached", says})
	}
	view.Parts = []officePart{{Title: "Step by step", Steps: []step{{"Survey", base + "/survey"}, {"Take-off", base + "/take-off"}, {"Quotes", base + "/quotes"}, {"Sound tests", base + "/tests"},
		{"Non-conformances", base + "/non-conformances"}, {"Handover and after", base + "/handover"}, {"The firm", "/firm"}}}, job, roomsPart(j), structuresPart(j), surfacesPart(j)}
	if v.who.Role.Judges() {
		view.Parts = append(view.Parts, officePart{Title: "Rule for this job", Lead: []string{"What holds where nobody answers, and how much is looked at. Without one the firm's rule holds."}, Steps: []step{{"A rule for this job", base + "/rule"}}})
	}
	view.frame = v.frame("Office: " + j.Name)
	return v.show("office", view)
}

func roomsPart(j *jobs.Job) officePart {
	p := officePart{Title: "Rooms", Empty: "No room is described: there is no value between rooms without one.", Steps: []step{{"Add a room", jobPath(j) + "/room"}}}
	for _, r := range j.Rooms {
		says := "Its volume is not known."
		if r.VolumeM3 > 0 {
			says = withUnit(decimal(r.VolumeM3, 1), "m³") + "."
		}
		p.Rows = append(p.Rows, officeRow{Name: r.Called(), Says: []string{says}, Steps: []step{{"Change " + r.Code, jobPath(j) + "/room/" + r.Code}}})
	}
	return p
}

// existWords counts the layers that are there.
func existWords(n int) string {
	if n == 1 {
		return "1 layer exists."
	}
	return jobs.Count(n, "layer") + " exist."
}

func structuresPart(j *jobs.Job) officePart {
	p := officePart{Title: "Structures", Empty: "None is described. Surfaces on both sides of one share its load.", Steps: []step{{"Add a structure", jobPath(j) + "/structure"}}}
	for _, st := range j.Structures {
		at := jobPath(j) + "/structures/" + st.Code
		r := officeRow{Name: st.Called(), Says: []string{existWords(len(st.Existing))}, Steps: []step{{"Change " + st.Code, at}, {"Layers of " + st.Code, at + "/existing"}}}
		if l := structureOf(j, st); len(j.On(st)) > 0 {
			r.Says = append(r.Says, "Added load "+l.Load+" "+l.Says)
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}

func surfacesPart(j *jobs.Job) officePart {
	p := officePart{Title: "Surfaces", Empty: "No surface is described.", Steps: []step{{"Add a surface", jobPath(j) + "/surface"}}}
	for _, s := range j.Surfaces {
		at := surfacePath(j, s)
		r := officeRow{Name: s.Code + " " + surfaceName(j, s), Says: []string{sentence(sizeOf(s)), "Nothing is specified."}, Steps: []step{{"Describe " + s.Code, at + "/describe"}, {"Layers of " + s.Code, at + "/specify"}, {"Prediction of " + s.Code, at + "/prediction"}}}
		if len(s.Specified) > 0 {
			r.Says[1] = forecastSentence("As specified", j.PredictSurface(s).Specified)
		}
		if like := j.Likeness(s); like != nil {
			says := "Copied from " + like.Surface + "."
			if len(like.Differences) > 0 {
				says = "Copied from " + like.Surface + ", and differs: " + strings.Join(like.Differences, "; ") + "."
			}
			r.Says = append(r.Says, says)
		}
		if s.Structure == "" {
			r.Steps = append(r.Steps, step{"What exists behind " + s.Code, at + "/existing"})
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}

// jobSteps lead from the job to what else is kept of it.
func (v *visit) jobSteps(j *jobs.Job) []step {
	if v.who.Guest != "" {
		return nil
	}
	base := jobPath(j)
	ss := []step{{"Survey", base + "/survey"}, {"Sound tests", base + "/tests"}, {"Non-conformances", base + "/non-conformances"}, {"Handover and after", base + "/handover"}, {"Record a return", base + "/return"}, {"Add photos", base + "/photo"}}
	if (Page{Roles: deciders}).MayOpen(v.who.Role) {
		ss = append([]step{{"Office", base + "/office"}, {"Take-off", base + "/take-off"}}, ss...)
	}
	return ss
}

// surfaceSteps lead from a surface to where it is described, specified and signed off.
func (v *visit) surfaceSteps(j *jobs.Job, s *jobs.Surface) []step {
	if v.who.Guest != "" {
		return nil
	}
	at := surfacePath(j, s)
	var ss []step
	switch {
	case (Page{Roles: deciders}).MayOpen(v.who.Role):
		ss = []step{{"Layers", at + "/specify"}, {"Prediction", at + "/prediction"}, {"Describe it", at + "/describe"}}
	case len(s.Specified) == 0:
		ss = []step{{"Specify it", at + "/specify"}}
	}
	if v.who.Role.Judges() {
		ss = append(ss, step{"Sign it off", at + "/sign-off"})
	}
	return append(ss, step{"Add photos", at + "/photo"})
}
