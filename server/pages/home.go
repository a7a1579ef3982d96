package pages

import (
	"cmp"
	"slices"
	"strings"

	"tacet/jobs"
	"tacet/sync/replica"
)

var _ = register(Page{Name: "home", Path: "/", Live: true, Roles: everybody, Get: getHome, View: homeView{}})

// homeView is the first page: the jobs, the latest with their surfaces.
type homeView struct {
	frame
	Answer string
	First  []firstStep // what to do where there is no job
	Find   *form       // a job by its name, where the list is long
	Fewer  string      // how many jobs the list leaves out
	Code   form
	Steps  []step // what the office begins
	Jobs   []homeJob
	Others []homeJob
}

type homeJob struct {
	Href, Name, Site string
	Waits            string
	Held             string
	Surfaces         []surfaceRow
	More             int
}

// firstStep is one way to begin; To is empty where it is a command.
type firstStep struct{ Do, How, To string }

// Only the latest jobs are shown with their surfaces, and of each not more than fit: the list stays short on a phone.
const (
	jobsInFull      = 5
	surfacesInAList = 12
	jobsInAList     = 100
)

func getHome(v *visit) error {
	rows, err := v.jobRows()
	if err != nil {
		return err
	}
	if rows, err = v.shown(rows); err != nil {
		return err
	}
	slices.SortStableFunc(rows, func(a, b replica.JobRow) int {
		if a.Last != b.Last {
			return cmp.Compare(b.Last, a.Last)
		}
		return cmp.Compare(a.ID, b.ID)
	})
	view := homeView{frame: v.frame("Jobs"), Answer: jobsAnswer(len(rows))}
	if len(rows) > jobsInFull+jobsInAList || v.c.Query("find") != "" {
		rows = v.find(&view, rows)
	}
	if n := len(rows) - jobsInFull - jobsInAList; n > 0 {
		rows, view.Fewer = rows[:jobsInFull+jobsInAList], jobs.Count(n, "older job")+" not shown: find one by its name."
	}
	for i, row := range rows {
		h := homeJob{Href: "/jobs/" + row.ID, Name: row.Name, Site: row.Site}
		if row.Unsent > 0 && v.joined() {
			h.Waits = jobs.Count(row.Unsent, "record") + " to send"
		}
		if row.Held > 0 {
			h.Held = waitFor(row.Held, "the supervisor")
		}
		if i >= jobsInFull {
			view.Others = append(view.Others, h)
			continue
		}
		j, err := v.deps.Record.Job(v.ctx, v.who.Company, row.ID)
		if err != nil {
			return err
		}
		h.Surfaces = rowsOf(j)
		if n := len(h.Surfaces); n > surfacesInAList {
			h.Surfaces, h.More = h.Surfaces[:surfacesInAList], n-surfacesInAList
		}
		view.Jobs = append(view.Jobs, h)
	}
	if len(rows) == 0 && view.Find == nil {
		view.First = v.firstSteps()
	}
	view.Code = codeForm()
	if (Page{Roles: deciders}).MayOpen(v.who.Role) {
		view.Steps = []step{{"A new job", "/new-job"}, {"The firm", "/firm"}, {"Print an empty survey sheet", "/survey.pdf"}}
	}
	return v.show("home", view)
}

// find leaves the jobs whose name or site holds what was typed.
func (v *visit) find(view *homeView, rows []replica.JobRow) []replica.JobRow {
	typed := strings.TrimSpace(v.c.Query("find"))
	view.Find = &form{Submit: "Find", Fields: []field{{Kind: "text", Name: "find", Label: "Find a job", Hint: "A part of its name or site.", Value: typed}}}
	if typed == "" {
		return rows
	}
	rows = slices.DeleteFunc(rows, func(r replica.JobRow) bool {
		return !strings.Contains(strings.ToLower(r.Name+" "+r.Site), strings.ToLower(typed))
	})
	view.Answer = jobs.Capital(jobs.Count(len(rows), "job")) + " with “" + typed + "”."
	return rows
}

// firstSteps are the ways to begin where there is no job yet.
func (v *visit) firstSteps() []firstStep {
	decides := (Page{Roles: deciders}).MayOpen(v.who.Role)
	var ss []firstStep
	if decides {
		ss = append(ss, firstStep{v.begin().Text, "Name, site and what has to be reached; surfaces and layers follow.", v.begin().To})
	}
	ss = append(ss, firstStep{"Take a survey sheet along", "Empty, to be filled in by pen.", "/survey.pdf"})
	if v.deps.Program == Client {
		ss = append(ss, firstStep{"Take a job in from a file", "On the command line: client job import FILE.json", ""},
			firstStep{"Join your office", "On the command line: client enrol https://YOUR-OFFICE --code CODE. Whoever keeps the people there gives the code.", ""},
			firstStep{"Look at an invented firm first", "On the command line: client demo", ""})
	} else {
		if v.deps.Accounts != nil && (Page{Roles: desk}).MayOpen(v.who.Role) {
			ss = append(ss, firstStep{"Add the people", "Each gets a login, and a code for each device.", "/add-person"})
		}
		ss = append(ss, firstStep{"Wait for the devices", "A job that was written down on a device appears here when the device has sent.", ""})
	}
	return append(ss, firstStep{"Read how it works", "A page for each role, the words, and where the numbers come from.", "/guide"})
}

// begin is how work begins where there is no job: on pages that would be empty without one.
func (v *visit) begin() step {
	if !(Page{Roles: deciders}).MayOpen(v.who.Role) {
		return step{}
	}
	return step{"Write down a job", "/new-job"}
}

func jobsAnswer(n int) string {
	switch n {
	case 0:
		return "There is no job here yet."
	case 1:
		return "One job."
	}
	return jobs.Count(n, "job") + "."
}
