package privacy

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

// Class is a sort of data about people with the time for which it is kept. A firm may set another.
type Class struct {
	Code, Name, Why string
	Days            int      // by default
	Kinds           []string // of records
	Hand            string   // who erases it, where this program does not
	Itself          bool     // it goes by itself, looked at each day
}

const year = 365

var classes = []Class{
	{Code: "contact", Name: "Who asked and who pays: enquiries, quotes", Days: 2 * year, Kinds: []string{"enquiry", "quote"},
		Why: "Needed to talk to them while the job runs and in its first two years; nobody is called after that."},
	{Code: "complaints", Name: "What people complained of, outcomes, answers to follow-ups", Days: 6 * year, Kinds: []string{"complaint", "outcome", "follow_up"},
		Why: "A claim on a contract may be brought for 6 years. Open complaints are kept however old."},
	{Code: "signatures", Name: "Who accepted, declined or signed off", Days: 15 * year, Kinds: []string{"sign", "sign_off"},
		Why: "A claim about a dwelling may be brought for 15 years, and whoever accepted a risk is asked then."},
	{Code: "notes", Name: "Notes", Days: 15 * year, Kinds: []string{"note"}, Why: "They belong to the technical record, which is kept for as long as a claim may be brought."},
	{Code: "accounts", Name: "Name and login of people whose access ended", Days: 1 * year, Why: "Who did the work has to be asked at times; a year after they left, an id is enough."},
	{Code: "looks", Name: "Who looked at what about people", Days: 1 * year, Itself: true,
		Why: "Long enough to answer a complaint about it; it is itself data about the people who work here. What is older goes by itself."},
	{Code: "photos", Name: "Photos of the work", Days: 15 * year, Why: "They are the evidence of what was covered. People and their things should not be in them.",
		Hand: "None goes for its age alone, because it is part of what the record proves. The office erases one where it is shown."},
	{Code: "logs", Name: "The server's own log", Days: 90, Why: "It names routes and errors, no people; addresses are in it for as long as an attack has to be looked into.",
		Hand: "Kept by the system on which the server runs: set it there."},
}

// Kept is a class with the days that hold for a firm.
type Kept struct {
	Class
	Now int
	By  string // the owner in whose name it goes by itself, by id; empty: an owner erases it by hand
}

// Classes lists the classes with what holds for a firm.
func (d *Desk) Classes(ctx context.Context, co string) ([]Kept, error) {
	set, err := d.Accounts.Kept(ctx, co)
	if err != nil {
		return nil, err
	}
	list := make([]Kept, len(classes))
	for i, c := range classes {
		list[i] = Kept{Class: c, Now: c.Days}
		if k, ok := set[c.Code]; ok {
			list[i].Now, list[i].By = k.Days, k.Person
		}
	}
	return list, nil
}

// longest is more than any claim lives.
const longest = 100 * year

// Setting is what a firm says of a class: for how many days it is kept, and whether it then goes by itself.
type Setting struct {
	Days   int
	Itself bool
}

// Set sets how classes are kept, in the name of an owner, who answers for what then goes by itself.
func (d *Desk) Set(ctx context.Context, co, owner string, said map[string]Setting) error {
	kept := map[string]accounts.Keeping{}
	for code, s := range said {
		i := slices.IndexFunc(classes, func(c Class) bool { return c.Code == code })
		switch {
		case i < 0:
			return &jobs.InputError{Field: code, Value: "no such class"}
		case s.Days < 1 || s.Days > longest:
			return &jobs.InputError{Field: code, Value: strconv.Itoa(s.Days), Range: "1 to " + strconv.Itoa(longest), Unit: "days"}
		case s.Itself && classes[i].Hand != "":
			return &jobs.InputError{Field: code, Value: "by itself", Hint: classes[i].Hand}
		}
		k := accounts.Keeping{Days: s.Days}
		if s.Itself && !classes[i].Itself { // what goes by itself in any case needs nobody's order
			k.Person = owner
		}
		kept[code] = k
	}
	return d.Accounts.Keep(ctx, co, kept)
}

// Due is what of a class is over its time.
type Due struct {
	Kept
	Count  int
	Oldest time.Time

	lines   []Line
	persons []string
	before  time.Time
}

// Due lists for each class what would be erased now. Nothing is changed.
func (d *Desk) Due(ctx context.Context, co string) ([]Due, error) {
	kept, err := d.Classes(ctx, co)
	if err != nil {
		return nil, err
	}
	list := make([]Due, len(kept))
	for i, k := range kept {
		list[i] = Due{Kept: k, before: d.Now().AddDate(0, 0, -k.Now)}
	}
	rows, err := d.Record.Jobs(ctx, co)
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		j, err := d.Record.Job(ctx, co, row.ID)
		if errors.Is(err, replica.ErrNoJob) {
			continue
		}
		if err != nil {
			return nil, err
		}
		dueIn(j, list)
	}
	for i := range list {
		due := &list[i]
		switch due.Code {
		case "accounts":
			people, err := d.Accounts.EndedBefore(ctx, co, due.before)
			if err != nil {
				return nil, err
			}
			for _, u := range people {
				due.persons = append(due.persons, u.Person)
			}
			due.Count = len(people)
		case "looks":
			n, err := d.Accounts.ForgetLooks(ctx, co, due.before, true)
			if err != nil {
				return nil, err
			}
			due.Count = int(n)
		}
	}
	return list, nil
}

// dueIn adds what of a job is over its time. The time runs from the last thing that was recorded on it, what erases left aside.
func dueIn(j *jobs.Job, list []Due) {
	var last time.Time
	for _, r := range j.Records {
		if t := r.Clk.Time(); r.Kind != "erasure" && t.After(last) {
			last = t
		}
	}
	open := map[string]bool{}
	for _, c := range j.Complaints() {
		if c.State != jobs.ComplaintClosed {
			open[c.Record.ID] = true
		}
	}
	for _, r := range j.Records {
		if r.Key == nil || open[r.ID] {
			continue
		}
		for i := range list {
			due := &list[i]
			if !slices.Contains(due.Kinds, r.Kind) || !last.Before(due.before) {
				continue
			}
			due.lines = append(due.lines, Line{Job: j.ID, ID: r.ID})
			due.Count++
			if t := r.Clk.Time(); due.Oldest.IsZero() || t.Before(due.Oldest) {
				due.Oldest = t
			}
		}
	}
}

// Apply erases what is over its time, and tells how much of each class.
func (d *Desk) Apply(ctx context.Context, co string, a jobs.Author) ([]Due, error) {
	list, err := d.Due(ctx, co)
	if err != nil {
		return nil, err
	}
	for _, due := range list {
		if err := d.apply(ctx, co, a, due); err != nil {
			return nil, err
		}
	}
	return list, nil
}

func (d *Desk) apply(ctx context.Context, co string, a jobs.Author, due Due) error {
	if _, err := d.erase(ctx, co, a, due.lines, "time"); err != nil {
		return err
	}
	for _, p := range due.persons {
		if err := d.Accounts.ErasePerson(ctx, co, p); err != nil {
			return err
		}
	}
	if due.Code == "looks" && due.Count > 0 {
		if _, err := d.Accounts.ForgetLooks(ctx, co, due.before, false); err != nil {
			return err
		}
	}
	return nil
}
