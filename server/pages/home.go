package pages

import (
	"cmp"
	"slices"

	"tacet/sync/replica"
)

var _ = register(Page{Name: "home", Path: "/", Live: true, Roles: everybody, Get: getHome, View: homeView{}})

// homeView is the first page: the jobs, the latest with their surfaces.
type homeView struct {
	frame
	Answer string
	Empty  string // what to do where there is no job
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

// Only the latest jobs are shown with their surfaces, and of each not more than fit: the list stays short on a phone.
const (
	jobsInFull      = 5
	surfacesInAList = 12
)

func getHome(v *visit) error {
	rows, err := v.deps.Record.Jobs(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	slices.SortStableFunc(rows, func(a, b replica.JobRow) int {
		if a.Last != b.Last {
			return cmp.Compare(b.Last, a.Last)
		}
		return cmp.Compare(a.ID, b.ID)
	})
	view := homeView{frame: v.frame("Jobs"), Answer: jobsAnswer(len(rows))}
	for i, row := range rows {
		h := homeJob{Href: "/jobs/" + row.ID, Name: row.Name, Site: row.Site}
		if row.Unsent > 0 && v.joined() {
			h.Waits = count(row.Unsent, "record") + " to send"
		}
		if row.Held > 0 {
			h.Held = count(row.Held, "record") + " held for the supervisor"
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
	if len(rows) == 0 {
		view.Empty = "Jobs come from the office. They appear here when the devices that know them have sent."
		if v.deps.Program == Client {
			view.Empty = "A job comes from the office, or from a file: client job import FILE."
		}
	}
	view.Code = codeForm()
	if (Page{Roles: deciders}).MayOpen(v.who.Role) {
		view.Steps = []step{{"A new job", "/new-job"}, {"The firm", "/firm"}}
	}
	return v.show("home", view)
}

func jobsAnswer(n int) string {
	switch n {
	case 0:
		return "There is no job here yet."
	case 1:
		return "One job."
	}
	return count(n, "job") + "."
}
