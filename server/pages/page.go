package pages

import (
	"cmp"
	"slices"

	"tacet/jobs"
)

// Page is one page: what it answers to, who may ask for it, and the view that its template is written for.
type Page struct {
	Name  string // of its template, html/NAME.html
	Path  string // as fiber writes routes
	Roles []jobs.Role
	Get   func(*visit) error
	Post  func(*visit) error // nil: nothing is recorded here
	View  any                // the zero view struct of the template; nil where the answer is no page (a picture, a PDF)

	// Live pages hold nothing that somebody fills in: while nobody touches them, what is new is put in place.
	Live bool

	// When says on which program it exists; nil: on both.
	When func(Deps) bool
	// Firm pages say what all jobs came to, so they are for those alone from whom none is kept.
	Firm bool

	// Looks says what about people it shows, for the list of who looked; empty where that is nothing.
	Looks string
	// Open pages are shown to people who are not signed in.
	Open bool
}

// Who may ask for a page.
var (
	everybody = jobs.Roles()
	judges    = []jobs.Role{jobs.Supervisor, jobs.Owner}
)

var registered = map[string]Page{}

// register adds a page. Two of one path are a programming error that every test finds.
func register(p Page) string {
	if _, twice := registered[p.Path]; twice {
		panic("page registered twice: " + p.Path)
	}
	registered[p.Path] = p
	return p.Path
}

// Registered lists the pages by path.
func Registered() []Page {
	ps := make([]Page, 0, len(registered))
	for _, p := range registered {
		ps = append(ps, p)
	}
	slices.SortFunc(ps, func(a, b Page) int { return cmp.Compare(a.Path, b.Path) })
	return ps
}

// MayOpen tells whether the role may ask for the page.
func (p Page) MayOpen(r jobs.Role) bool { return slices.Contains(p.Roles, r) }
