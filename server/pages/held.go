package pages

import (
	"strings"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/held", Roles: judges, Get: getHeld, Post: postHeld, View: recordView{}})

// heldView lists what a rule holds back until a supervisor has answered: what it says, and which rule it is.
func heldView(v *visit, j *jobs.Job) recordView {
	held := unanswered(j)
	view := recordView{Where: whereJob(j), Answer: "Nothing waits for your answer."}
	if len(held) == 0 {
		view.Lead = []string{"No record of this job waits for a supervisor."}
		return view
	}
	view.Answer = waitFor(len(held), "your answer") + "."
	view.Lead = []string{"A rule keeps out what stands below. It is kept, and nobody counts on it until you have answered."}
	box := field{Kind: "box", Name: "on", Label: "Records"}
	for _, e := range held {
		box.Options = append(box.Options, option{Value: e.ID, Label: v.heldWords(e), Hint: heldWhy(j, e), Checked: len(held) == 1})
	}
	view.Form = form{Submit: "Record the answer", Fields: []field{box,
		{Kind: "choice", Name: "answer", Label: "Your answer", Options: []option{
			{Value: jobs.AnswerAdmit, Label: "Take them into the record"},
			{Value: jobs.AnswerRefuse, Label: "Do not take them", Hint: "They stay in the history and count for nothing."}}},
		{Kind: "area", Name: "reason", Label: "Reason"}}}
	return view
}

// unanswered lists the held records without an answer. An answer given on a device acts when it has reached the server.
func unanswered(j *jobs.Job) []jobs.Entry {
	var es []jobs.Entry
	for _, e := range j.Held() {
		if answer, _ := j.Answered(e); answer == "" {
			es = append(es, e)
		}
	}
	return es
}

// heldWords is what a held record says, who recorded it and when.
func (v *visit) heldWords(e jobs.Entry) string {
	place := ""
	if e.On.Surface != "" {
		place = e.On.Surface + onLayer(e.On.Layer) + ": "
	}
	words := place + spaced(e.Kind)
	if parts := facts(&jobs.Record{Entry: &e}); len(parts) > 0 {
		words += " (" + strings.Join(parts, "; ") + ")"
	}
	return words + ", " + v.name(e.By) + ", " + v.clock(e.Clk.Time())
}

// heldWhy is the rule that holds a record back.
func heldWhy(j *jobs.Job, e jobs.Entry) string {
	if err := jobs.Admit(j, e); err != nil {
		return sentence(err.Error())
	}
	return "No rule holds it any more; it still waits for an answer."
}

func getHeld(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	return v.ask(heldView(v, j))
}

func postHeld(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	if len(unanswered(j)) == 0 {
		return v.see(jobPath(j))
	}
	view := heldView(v, j)
	r := v.read(&view.Form, "admission")
	on := formValues(v.c, "on")
	if len(on) == 0 {
		r.f.complain("on", "Tick the records that you answer.")
	}
	r.edge["on"] = on
	r.text("answer")
	r.text("reason")
	return v.finish(view, r, j, jobPath(j))
}
