package pages

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"tacet/jobs"
	"tacet/server/drawing"
	"tacet/sync/replica"
)

var _ = register(Page{Name: "queue", Path: "/queue", Live: true, Roles: judges, Get: getQueue, View: queueView{}})

// queueView is what is ready to be seen, in the order in which it will be covered, and what was covered unseen.
type queueView struct {
	frame
	Answer string
	Ready  []queueRow
	Unseen []surfaceRow
	Asked  []surfaceRow
	Held   []step
	Agree  []step // disputes, where they are compared and ruled on
	Count  string
	Also   string // where there is no job: what would stand here
	Do     step
}

type queueRow struct {
	surfaceRow
	Job  string
	When string
	Rule string // what the site may do while nobody answers
	Show []shownCheck
}

// shownCheck is a check of the layer with the photos that answer it: what is to be seen beside what is shown.
type shownCheck struct {
	Code, Accept, State string
	Photos              []photoLine
}

// In the queue a check shows its first photos; the rest are on the page where it is answered.
const photosInQueue = 3

// shownChecks are the checks of a layer that somebody answered with a photo.
func (v *visit) shownChecks(j *jobs.Job, s *jobs.Surface, layer int) (list []shownCheck) {
	for _, c := range s.ChecksOf(layer) {
		shown := shownCheck{Code: c.Rule.Code, Accept: c.Rule.Accept, State: sentence(standing(c, measuredWords(j, s, c)))}
		for _, r := range c.Heads {
			for i := range r.Blobs {
				if len(shown.Photos) < photosInQueue {
					p := v.photoLine(j, r, i)
					p.Erase = "" // that is done where the record belongs
					shown.Photos = append(shown.Photos, p)
				}
			}
		}
		if len(shown.Photos) > 0 {
			list = append(list, shown)
		}
	}
	return list
}

// queued is what the page asks of one job.
type queued struct {
	firm   bool // the place of the firm's own entries, and no job
	waits  jobs.Waiting
	unseen int
	asked  []surfaceRow
	agree  []step
	held   []step
}

// queues holds what was made of the jobs, for each company.
var queues sync.Map

func newQueue() *kept[queued] {
	return &kept[queued]{made: map[string]made[queued]{}, make: queuedOf}
}

func queuedOf(j *jobs.Job) queued {
	q := queued{firm: j.ID == j.Company, waits: j.Waiting(), unseen: j.CoveredUnseen(), asked: askedRows(j)}
	// One line for each surface: where many records differ, they are compared on one page anyway.
	var places []string
	disputes := map[string]int{}
	for _, d := range j.Disputes {
		if disputes[d.On.Surface]++; disputes[d.On.Surface] == 1 {
			places = append(places, d.On.Surface)
		}
	}
	for _, place := range places {
		on := j.Name
		if place != "" {
			on += ", " + place
		}
		q.agree = append(q.agree, step{on + ": " + jobs.Count(disputes[place], "dispute"), jobPath(j) + "/disputes"})
	}
	if n := len(unanswered(j)); n > 0 {
		q.held = []step{{j.Name + ": " + waitFor(n, "you"), jobPath(j) + "/held"}}
	}
	return q
}

// queued gathers what the jobs of the firm have for the queue, in the order of their ids.
func (v *visit) queued() ([]queued, error) {
	k := keptBy(&queues, v.deps.Record, v.who.Company, newQueue)
	if err := k.ready(v.ctx, v.deps.Record, v.who.Company, v.deps.Log); err != nil {
		return nil, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	rows := make([]replica.JobRow, 0, len(k.made))
	for _, id := range slices.Sorted(maps.Keys(k.made)) {
		rows = append(rows, replica.JobRow{ID: id})
	}
	rows, err := v.shown(rows)
	all := make([]queued, 0, len(rows))
	for _, row := range rows {
		all = append(all, k.made[row.ID].is)
	}
	if err != nil {
		return nil, err
	}
	return all, nil
}

func getQueue(v *visit) error {
	all, err := v.queued()
	if err != nil {
		return err
	}
	view := queueView{}
	unseen := 0
	waits := make([]jobs.Waiting, len(all))
	for i, q := range all {
		waits[i] = q.waits
		unseen += q.unseen
		view.Asked = append(view.Asked, q.asked...)
		view.Agree = append(view.Agree, q.agree...)
		view.Held = append(view.Held, q.held...)
	}
	items := jobs.QueueOf(waits)
	for _, i := range items {
		if i.Why != jobs.QueueCoveredUnseen {
			view.Ready = append(view.Ready, v.queueRow(i))
			continue
		}
		row := rowOn(i.Job, i.Surface, layerPath(i.Job, i.Surface, i.Layer.N, "answer"))
		row.Mark, row.Says = mark(drawing.MarkCouldNotSee), fmt.Sprintf("Layer %d was covered unseen. %s", i.Layer.N, stillOpen(i.Open))
		view.Unseen = append(view.Unseen, row)
	}
	view.Answer = v.queueAnswer(items)
	view.Count = "Nothing was covered unseen."
	if unseen > 0 {
		view.Count = fmt.Sprintf("%s covered unseen, %d to look into.", jobs.Count(unseen, "layer"), len(view.Unseen))
	}
	if !slices.ContainsFunc(all, func(q queued) bool { return !q.firm }) {
		view.Also, view.Do = "There is no job yet. What the site reports as ready, asks for or covers unseen stands here.", v.begin()
	}
	view.frame = v.frame("To be seen")
	return v.show("queue", view)
}

func rowOn(j *jobs.Job, s *jobs.Surface, href string) surfaceRow {
	return surfaceRow{Picture: picture{Base: surfacePath(j, s), V: len(j.Records)}, Code: s.Code, Name: j.Name, Href: href}
}

func (v *visit) queueRow(i jobs.QueueItem) queueRow {
	row := queueRow{surfaceRow: rowOn(i.Job, i.Surface, layerPath(i.Job, i.Surface, i.Layer.N, "answer")), Job: i.Job.Name, When: jobs.Capital(v.coverTime(i)), Rule: i.Rule}
	row.Show = v.shownChecks(i.Job, i.Surface, i.Layer.N)
	row.Name = fmt.Sprintf("Layer %d, %s", i.Layer.N, jobs.Lower(i.Layer.Name()))
	if len(i.Open) > 0 {
		row.Mark = mark(drawing.MarkStop)
		for _, g := range byStanding(i.Open) {
			row.Says += openWords("stop check", openOf{Checks: g}) + ": " + jobs.CheckNames(g) + ". "
		}
	}
	if i.Look {
		row.Says += "To be looked at: " + i.Because + ". "
	}
	if i.Answer != nil {
		row.Says += v.name(i.Answer.By) + " is coming."
	}
	if !i.CoverFrom.IsZero() {
		row.Rule += " That is from " + v.clock(i.CoverFrom) + "."
	}
	return row
}

func (v *visit) coverTime(i jobs.QueueItem) string {
	switch {
	case i.Why == jobs.QueuePutRight:
		return "put right, to be accepted"
	case i.CoverAt.IsZero():
		return "no time planned"
	}
	if i.CoverAt.Before(v.deps.Now()) {
		return "overdue since " + v.clock(i.CoverAt)
	}
	return "covering " + v.clock(i.CoverAt)
}

// askedRows are the substitutions that wait for an answer.
func askedRows(j *jobs.Job) []surfaceRow {
	var rows []surfaceRow
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			sub := j.OpenSubstitute(s, l.N)
			if sub == nil {
				continue
			}
			e := j.EffectOf(s, l, sub)
			row := rowOn(j, s, layerPath(j, s, l.N, "substitute"))
			row.Mark = mark(drawing.MarkOpen)
			row.Says = fmt.Sprintf("Layer %d: %s instead of %s? %s With it: %s", l.N, e.New, e.Instead, sentence(e.Reason), effectWords(e))
			if e.State == jobs.AlreadyFixed {
				row.Says = fmt.Sprintf("Layer %d: %s is fixed already instead of %s, and nobody has agreed. %s With it: %s", l.N, e.New, e.Instead, sentence(e.Reason), effectWords(e))
			}
			rows = append(rows, row)
		}
	}
	return rows
}

// inForce lists what counts of the work on a layer.
func inForce(j *jobs.Job, s *jobs.Surface, layer int) []*jobs.Record {
	var rs []*jobs.Record
	for _, r := range s.Work() {
		if r.On.Layer == layer && j.InForce(r) {
			rs = append(rs, r)
		}
	}
	return rs
}

// stillOpen names open checks, those that failed or are disputed as such.
func stillOpen(open []*jobs.Check) string {
	var parts []string
	for _, g := range byStanding(open) {
		says := "Still open: "
		switch g[0].State {
		case jobs.CheckFailed:
			says = "Failed: "
		case jobs.CheckDisputed:
			says = "Disputed: "
		}
		parts = append(parts, says+jobs.CheckNames(g)+".")
	}
	return strings.Join(parts, " ")
}

// queueAnswer counts what waits and says when the first of it will be covered.
func (v *visit) queueAnswer(items []jobs.QueueItem) string {
	n := 0
	first := ""
	for _, i := range items {
		if i.Why == jobs.QueueCoveredUnseen {
			continue
		}
		if n++; n == 1 && !i.CoverAt.IsZero() && i.Why == jobs.QueueReady {
			first = ", the first " + v.coverTime(i)
		}
	}
	if n == 0 {
		return "Nothing waits to be seen."
	}
	return jobs.Count(n, "layer") + " to be seen" + first + "."
}
