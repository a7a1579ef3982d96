package pages

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/replica"
)

var _ = register(Page{Name: "disputes", Path: "/jobs/:job/disputes", Roles: everybody, Get: getDisputes, Post: postDisputes, View: disputesView{}})

// disputesView sets the sides of each dispute beside each other: who, when, on what evidence. Supervisors rule here.
type disputesView struct {
	frame
	Where    []crumb
	Answer   string
	Shown    string // which of them, where there are more than fit
	Disputes []disputeLine
	More     []step // those before and after
	Errors   []complaint
}

// disputesAtOnce keeps the page light, with photos, notes and a form to each.
const disputesAtOnce = 10

type disputeLine struct {
	About  string
	Place  crumb
	Accept string // what is asked of a check, to judge the sides by
	Sides  []disputeSide
	Form   *form // for supervisors
}

// disputeSide is one of the records that do not agree, under the letter by which it is chosen.
type disputeSide struct {
	Letter string
	recordLine
}

// disputesView shows the disputes of a job from the one on that is given, counted from nought.
func (v *visit) disputesView(j *jobs.Job, from int) disputesView {
	view := disputesView{Where: whereJob(j), Answer: "Nothing is disputed."}
	if n := len(j.Disputes); n > 0 {
		view.Answer = jobs.Count(n, "dispute") + ". Everything is kept until a supervisor rules."
	}
	states := v.states(j)
	for i, d := range j.Disputes[from:min(from+disputesAtOnce, len(j.Disputes))] {
		view.Disputes = append(view.Disputes, v.disputeLine(j, d, i, states))
	}
	to := func(text string, from int) {
		view.More = append(view.More, step{text, jobPath(j) + "/disputes?from=" + itoa(from+1)})
	}
	end := from + len(view.Disputes)
	if len(view.Disputes) < len(j.Disputes) {
		view.Shown = fmt.Sprintf("Shown: %d to %d.", from+1, end)
	}
	if from > 0 {
		to("The disputes before these", from-disputesAtOnce)
	}
	if left := len(j.Disputes) - end; left > 0 {
		to("The next "+jobs.Count(min(left, disputesAtOnce), "dispute"), end)
	}
	return view
}

// disputesFrom is the first dispute of the part of the list that holds the one that the address names.
func (v *visit) disputesFrom(j *jobs.Job) int {
	n, err := strconv.Atoi(v.c.Query("from"))
	if err != nil {
		return 0
	}
	n = max(0, min(n-1, len(j.Disputes)-1))
	return n - n%disputesAtOnce
}

func (v *visit) disputeLine(j *jobs.Job, d jobs.Dispute, i int, states map[string]replica.State) disputeLine {
	l := disputeLine{About: jobs.Capital(d.About)}
	if s := j.Surface(d.On.Surface); s != nil {
		l.Place = crumb{s.Code, surfacePath(j, s)}
		if d.On.Layer > 0 {
			l.Place = crumb{s.Code + ", layer " + itoa(d.On.Layer), surfacePath(j, s) + "#layer-" + itoa(d.On.Layer)}
		}
	}
	if check, ok := d.Heads[0].What.(*jobs.CheckResult); ok {
		if rule, ok := jobs.RuleOf(check.Check); ok {
			l.Accept = "Accept when: " + sentence(rule.Accept)
		}
	}
	keeps := field{Kind: "choice", Name: "keeps", Label: "Which one counts"}
	f := &form{Name: itoa(i + 1), Submit: "Record the ruling"}
	for k, h := range d.Heads {
		line := v.recordLine(j, h, states)
		line.Parts = particulars(h)
		letter := string(rune('A' + k))
		l.Sides = append(l.Sides, disputeSide{letter, line})
		keeps.Options = append(keeps.Options, option{Value: h.ID, Label: letter + ": " + line.Says})
		f.Hidden = append(f.Hidden, hidden{"on", h.ID})
	}
	if v.who.Role.Judges() {
		keeps.Options = append(keeps.Options, option{Value: "none", Label: "None of them"})
		f.Fields = []field{keeps, {Kind: "area", Name: "reason", Label: "Reason"}}
		for k := range f.Fields {
			f.Fields[k].Form = f.Name
		}
		l.Form = f
	}
	return l
}

func getDisputes(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	view := v.disputesView(j, v.disputesFrom(j))
	view.frame = v.frame("Disputes: " + j.Name)
	return v.show("disputes", view)
}

func postDisputes(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	view := v.disputesView(j, v.disputesFrom(j))
	on := formValues(v.c, "on")
	i := slices.IndexFunc(view.Disputes, func(d disputeLine) bool { return d.Form != nil && sameIDs(d.Form.Hidden, on) })
	if i < 0 {
		// Somebody has ruled meanwhile, or the sides have changed: what is there now has to be looked at first.
		return v.see(jobPath(j) + "/disputes")
	}
	f := view.Disputes[i].Form
	r := v.read(f, "ruling")
	r.edge["on"] = on
	r.text("keeps")
	r.text("reason")
	err = v.record(j.ID, r.edge)
	if err == nil {
		return v.see(rulingPath(j, on))
	}
	if !f.take(err) {
		return err
	}
	view.Errors = f.Errors
	view.frame = v.frame(toCorrect(view.Answer, *f))
	v.c.Status(fiber.StatusUnprocessableEntity)
	return v.show("disputes", view)
}

// rulingPath is the surface that the records ruled on are about, else the job.
func rulingPath(j *jobs.Job, on []string) string {
	for _, id := range on {
		if r := j.ByID(id); r != nil {
			return pathOf(j, r)
		}
	}
	return jobPath(j)
}

func sameIDs(hs []hidden, ids []string) bool {
	var have []string
	for _, h := range hs {
		have = append(have, h.Value)
	}
	return strings.Join(have, " ") == strings.Join(ids, " ")
}
