package pages

import (
	"fmt"
	"strings"

	"tacet/jobs"
)

var _ = register(Page{Name: "job", Path: "/jobs/:job", Live: true, Roles: everybody, Get: getJob, View: jobView{}})

// jobView is one job: its surfaces, what they hang on, what has to be reached.
type jobView struct {
	frame
	Answer     string
	Do         step // what comes first where nothing is described or specified
	Name, Site string
	Surfaces   []surfaceRow
	Structures []structureLine
	Disputes   string
	Held       string
	HeldHref   string // for supervisors
	Measured   []measuredLine
	Href       string
	Targets    []string
	Cautions   []cautionLine
	Questions  string
	Unread     string
	Papers     []step // what may be printed
	More       []step // what else is kept of the job
	Records    int
}

// structureLine is what surfaces hang on, with the load that is added to it.
type structureLine struct {
	Name, Surfaces, Load, Limit, Says string
	Over                              bool
}

func getJob(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	view := jobView{Name: j.Name, Site: j.Site, Surfaces: rowsOf(j), Href: jobPath(j), Records: len(j.Records)}
	held, mayGo, bare := 0, 0, 0
	for _, s := range j.Surfaces {
		if len(s.Layers) == 0 {
			bare++
		}
		switch a := answerOf(j, s); {
		case a.Mark == "stop" || a.Mark == "failed" || a.Mark == "disputed":
			held++
		case a.Do.Text != "":
			mayGo++
		}
	}
	view.Answer = jobAnswer(len(j.Surfaces), held, mayGo, bare)
	if (Page{Roles: deciders}).MayOpen(v.who.Role) {
		view.Do = nextStep(j)
	}
	if n := len(j.Disputes); n > 0 {
		view.Disputes = jobs.Count(n, "dispute") + ": records that do not agree with each other."
	}
	if n := len(unanswered(j)); n > 0 {
		view.Held = waitFor(n, "the supervisor") + "."
		if v.who.Role.Judges() {
			view.HeldHref = jobPath(j) + "/held"
		}
	}
	view.Measured = measuredLines(j, nil)
	for _, st := range j.Structures {
		view.Structures = append(view.Structures, structureOf(j, st))
	}
	for _, t := range j.Targets {
		w := jobs.Capital(targetWords(t))
		if t.Source != "" {
			w += ", " + t.Source
		}
		view.Targets = append(view.Targets, w)
	}
	view.Cautions = cautionLines(j, nil)
	view.Questions = jobs.Count(len(view.Cautions), "open question") + " for others: fire, structure, asbestos and the like"
	if j.Unread > 0 {
		view.Unread = jobs.Count(j.Unread, "record") + " came from a newer version of the program and can't be read here. Nothing is concluded from them."
	}
	view.More = v.jobSteps(j)
	view.Papers = v.papers(j)
	view.frame = v.frame(j.Name)
	return v.show("job", view)
}

// nextStep is what the office does first with a job that nobody can work on yet: describe a surface, then specify each.
func nextStep(j *jobs.Job) step {
	if len(j.Surfaces) == 0 {
		return step{"Add a surface", jobPath(j) + "/surface"}
	}
	for _, s := range j.Surfaces {
		if len(s.Layers) > 0 {
			return step{}
		}
	}
	s := j.Surfaces[0]
	return step{"Specify " + s.Code, surfacePath(j, s) + "/specify"}
}

func jobAnswer(surfaces, held, may, bare int) string {
	switch {
	case surfaces == 0:
		return "This job has no surface yet."
	case held > 0 && may > 0:
		return fmt.Sprintf("%s on hold, work may go on at %d.", jobs.Capital(jobs.Count(held, "surface")), may)
	case held > 0:
		return jobs.Capital(jobs.Count(held, "surface")) + " on hold."
	case may > 0:
		return "Work may go on at " + jobs.Count(may, "surface") + "."
	case bare == surfaces:
		return "Nothing is specified yet."
	case bare > 0:
		return "Nothing is specified for " + jobs.Count(bare, "surface") + "; all else is in place and covered."
	}
	return "All that is specified is in place and covered."
}

func structureOf(j *jobs.Job, st *jobs.Structure) structureLine {
	l := structureLine{Name: st.Called(), Load: loadOf(j.StructureLoad(st)), Limit: "no limit agreed"}
	var codes []string
	for _, s := range j.On(st) {
		codes = append(codes, s.Code)
	}
	l.Surfaces = strings.Join(codes, ", ")
	l.Says = "added by " + l.Surfaces + "; no limit is agreed. A structural engineer decides."
	if st.LoadLimit != nil {
		l.Limit = loadOf(*st.LoadLimit)
		l.Says = "of the agreed " + l.Limit + ", added by " + l.Surfaces + "."
		if l.Over = j.StructureLoad(st) > *st.LoadLimit; l.Over {
			l.Says = "is over the agreed " + l.Limit + ", added by " + l.Surfaces + ". A structural engineer decides."
		}
	}
	return l
}

// cautionLine is a question that somebody competent answers, with the answer where it is recorded.
type cautionLine struct {
	Name, Asks, Why, Says, Href string
	Open                        bool
}

// cautionLines are the questions that a surface raises, or all of a job's that nobody has answered.
func cautionLines(j *jobs.Job, s *jobs.Surface) []cautionLine {
	if s == nil {
		return openQuestions(j)
	}
	var ls []cautionLine
	for _, c := range j.Cautions(s) {
		l := cautionLine{Name: jobs.Capital(c.Code), Asks: c.Asks, Why: sentence("Asked because " + c.Why), Href: cautionPath(j, s, c.Code), Open: c.Open}
		l.Says = cautionAnswer(c)
		ls = append(ls, l)
	}
	return ls
}

// cautionAnswer is what was decided and by whom, or for whom the question is.
func cautionAnswer(c jobs.CautionState) string {
	if c.Answer == "" {
		return "Not answered yet. It is for " + c.Who + "."
	}
	says := sentence(c.Answer) + " Decided by " + strings.TrimRight(c.DecidedBy, ".") + "."
	if c.Again != "" {
		says += " To be asked again: " + c.Again + "."
	}
	return says
}

// openQuestions gathers the open questions of the whole job by what they ask.
func openQuestions(j *jobs.Job) []cautionLine {
	surfaces := map[string][]string{}
	for _, c := range j.OpenCautions() {
		surfaces[c.Code] = append(surfaces[c.Code], c.Surface)
	}
	var ls []cautionLine
	for _, q := range jobs.CautionQuestions() {
		if on := surfaces[q.Code]; len(on) > 0 {
			ls = append(ls, cautionLine{Name: jobs.Capital(q.Code), Asks: q.Asks, Open: true, Href: cautionPath(j, nil, q.Code),
				Says: "Not answered for " + strings.Join(on, ", ") + ". It is for " + q.Who + "."})
		}
	}
	return ls
}

// questionsTitle counts the questions of a surface that are open.
func questionsTitle(ls []cautionLine) string {
	open := 0
	for _, l := range ls {
		if l.Open {
			open++
		}
	}
	return fmt.Sprintf("Questions for others: %d of %d open", open, len(ls))
}
