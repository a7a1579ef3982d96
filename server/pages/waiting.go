package pages

import (
	"cmp"
	"slices"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/replica"
)

var _ = register(Page{Name: "waiting", Path: "/waiting", Roles: everybody, Get: getWaiting, Post: postWaiting, View: waitingView{},
	When: func(d Deps) bool { return d.Program == Client }})

// waitingView is what this device has recorded and not yet sent, and what came back.
type waitingView struct {
	frame
	Answer string
	Says   string
	Failed string
	Oldest string
	Do     string // what the button does; empty where nothing can be exchanged
	Jobs   []waitingJob
}

type waitingJob struct {
	Name, Href string
	Unsent     []recordLine
	More       int
	Held       string
	HeldWhy    []string
	Refused    string
	Confirm    string
}

// waitingShown is how many records of a job are listed before they are only counted.
const waitingShown = 30

func getWaiting(v *visit) error {
	view, err := v.waitingView()
	if err != nil {
		return err
	}
	return v.show("waiting", view)
}

func (v *visit) waitingView() (waitingView, error) {
	entries, photos, oldest, err := v.deps.Record.Waiting(v.ctx, v.who.Company)
	if err != nil {
		return waitingView{}, err
	}
	link := Link{}
	if v.deps.Link != nil {
		link = v.deps.Link(v.ctx)
	}
	view := waitingView{Says: linkWords(link, v.clock), Answer: "Nothing waits to be sent.", Do: "Fetch now"}
	if link.State == LinkAlone {
		view.Answer, view.Says, view.Do = "Everything is kept on this device.", "It is not joined to an office, so nothing is sent.", ""
		view.frame = v.frame(view.Answer)
		view.Line = nil
		return view, nil
	}
	if link.State != LinkDone && link.State != LinkTrouble && link.Says != "" {
		view.Says += " The last try said: " + sentence(jobs.Lower(link.Says))
	}
	if waits := changes(entries, photos); waits != "" {
		view.Answer, view.Do = jobs.Capital(waits)+" to send.", "Send now"
		if !oldest.IsZero() {
			view.Oldest = "The oldest was recorded " + v.clock(oldest) + "."
		}
	}
	if v.deps.Sync == nil {
		view.Do = ""
	}
	rows, err := v.jobRows()
	if err != nil {
		return view, err
	}
	slices.SortFunc(rows, func(a, b replica.JobRow) int { return cmp.Compare(a.Name, b.Name) })
	for _, row := range rows {
		if row.Unsent == 0 && row.Held == 0 {
			continue
		}
		w, err := v.waitingJob(row)
		if err != nil {
			return view, err
		}
		view.Jobs = append(view.Jobs, w)
	}
	view.frame = v.frame(view.Answer)
	view.Line = nil // the page says it itself
	return view, nil
}

func (v *visit) waitingJob(row replica.JobRow) (waitingJob, error) {
	w := waitingJob{Name: row.Name, Href: "/jobs/" + row.ID}
	j, err := v.deps.Record.Job(v.ctx, v.who.Company, row.ID)
	if err != nil {
		return w, err
	}
	states := v.states(j)
	counts := map[replica.State]int{}
	for _, s := range states {
		counts[s]++
	}
	var unsent []*jobs.Record
	for _, r := range j.Records {
		if states[r.ID] == replica.Unsent {
			unsent = append(unsent, r)
		}
	}
	if n := len(unsent); n > waitingShown {
		w.More, unsent = n-waitingShown, unsent[n-waitingShown:]
	}
	w.Unsent = v.placedLines(j, unsent, nil)
	for i := range w.Unsent {
		w.Unsent[i].Photos = nil // they are counted on top
	}
	if n := counts[replica.Held]; n > 0 {
		w.Held = waitFor(n, "the supervisor") + ". Kept, and nobody else counts on " + map[bool]string{true: "it", false: "them"}[n == 1] + " yet."
		for _, e := range j.Held() {
			w.HeldWhy = append(w.HeldWhy, jobs.Capital(v.heldWords(e))+". "+heldWhy(j, e))
		}
	}
	if n := counts[replica.Refused]; n > 0 {
		w.Refused = "The supervisor did not take " + jobs.Count(n, "record") + ". They stay in the history."
	}
	if n := counts[replica.ToConfirm]; n > 0 {
		w.Confirm = "The office copy was restored from a backup. " + jobs.Capital(jobs.Count(n, "record")) + " of yours are being sent again."
	}
	return w, nil
}

// postWaiting sends now. That there is no connection is no failure of anybody's: the page says what is so.
func postWaiting(v *visit) error {
	if v.deps.Sync == nil {
		return jobs.ErrNotFound
	}
	if err := v.deps.Sync(v.ctx); err != nil {
		view, viewErr := v.waitingView()
		if viewErr != nil {
			return viewErr
		}
		view.Failed = sentence(plainly(err))
		v.c.Status(fiber.StatusOK)
		return v.show("waiting", view)
	}
	return v.see("/waiting")
}
