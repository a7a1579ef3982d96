package pages

import (
	"html/template"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/drawing"
)

// frame is what stands round every page.
type frame struct {
	Title   string // of the window
	Nav     []navItem
	Folded  []navItem // the rest of the menu, closed until asked on a phone
	Line    *statusLine
	Person  string
	SignOut bool
	Version string
	At      int64 // how far the record goes; 0: the page does not listen
	Live    bool
	Again   bool // asking for the same address shows it again; the answer to a form has no address
}

type navItem struct {
	Text, Href string
	Here       bool
}

// statusLine tells what is saved and what is sent: what happened, what is safe, what to do.
type statusLine struct {
	Mark template.HTML
	Says string
	Do   step
}

// frame is the frame of a page with this title.
func (v *visit) frame(title string) frame {
	f := frame{Title: title, Person: v.who.Name, Version: v.deps.Version, SignOut: v.deps.SignOut != nil && v.who.Person != "", At: v.at, Live: v.page.Live && v.at > 0,
		Again: v.c.Method() == fiber.MethodGet}
	if v.who.Person == "" {
		return f
	}
	add := func(text, href string) {
		f.Nav = append(f.Nav, navItem{text, href, v.c.Path() == href})
	}
	if v.who.Guest != "" {
		add("The job", "/jobs/"+v.who.Guest)
		return f
	}
	add("Jobs", "/")
	if v.deps.Program == Client || v.who.Role == jobs.Site { // who stands before the sheet is not sent to the end of a list of jobs
		add("Scan", "/s")
	}
	if (Page{Roles: judges}).MayOpen(v.who.Role) {
		add("To be seen", "/queue")
	}
	if (Page{Roles: deciders}).MayOpen(v.who.Role) {
		if all, err := v.seesAll(); err == nil && all { // the page itself will meet the same trouble
			add("Outcomes", "/outcomes")
		}
	}
	if v.deps.Accounts != nil {
		if (Page{Roles: desk}).MayOpen(v.who.Role) {
			add("People", "/people")
		}
		add("Your account", "/account")
	}
	if v.deps.Program == Client {
		add("To be sent", "/waiting")
		f.Line = v.line()
	}
	add("Help", "/guide")
	f.fold()
	return f
}

// A line of the menu on a phone of 360 px holds so many letters, two counted for each gap, and less beside the word for the rest.
const (
	lineLetters   = 32
	foldedLetters = 24
)

// fold parts a menu that is too long for one line of a phone: what comes first stays in sight.
func (f *frame) fold() {
	letters, stay := 0, 0
	for i, n := range f.Nav {
		if letters += len(n.Text) + 2; letters <= foldedLetters {
			stay = i + 1
		}
	}
	if letters > lineLetters {
		f.Nav, f.Folded = f.Nav[:stay], f.Nav[stay:]
	}
}

// line is the status line of the client; nil where what waits can't be told.
func (v *visit) line() *statusLine {
	entries, photos, _, err := v.deps.Record.Waiting(v.ctx, v.who.Company)
	if err != nil {
		return nil
	}
	link := Link{}
	if v.deps.Link != nil {
		link = v.deps.Link(v.ctx)
	}
	l := statusOf(link, entries, photos, v.clock)
	if l.Do.Text != "" && v.deps.Sync == nil {
		l.Do = step{}
	}
	return &l
}

// statusOf puts the state of the link and what waits into words. Saved means on the disk, sent means that the server has
// confirmed it.
func statusOf(link Link, entries, photos int, clock func(time.Time) string) statusLine {
	waits := changes(entries, photos)
	l := statusLine{Mark: mark(drawing.MarkWaiting), Says: linkWords(link, clock)}
	switch {
	case link.State == LinkAlone:
		l.Mark = ""
	case link.State == LinkCutOff || link.State == LinkTrouble:
		l.Mark = mark(drawing.MarkHeld)
	case waits == "":
		l.Mark = mark(drawing.MarkOnServer)
	}
	switch {
	case waits == "" && link.State == LinkDone:
		l.Says = "All changes sent. " + l.Says
	case waits == "" || link.State == LinkAlone:
	case link.State == LinkSending:
		l.Says = "Sending " + waits + ". You can keep working."
	default:
		l.Says = "Saved on this device, " + waits + " to send. " + l.Says
	}
	for _, w := range link.Warn {
		l.Says += " " + w
	}
	if waits != "" && link.State != LinkAlone && link.State != LinkSending && link.State != LinkCutOff {
		l.Do = step{"Send now", "/waiting"}
	}
	return l
}

// linkWords says how the device stands with its server, whatever waits.
func linkWords(link Link, clock func(time.Time) string) string {
	switch link.State {
	case LinkAlone:
		return "Saved on this device. It is not joined to an office."
	case LinkSending:
		return "Sending. You can keep working."
	case LinkOffline:
		return "No connection. Your work is saved here and will be sent later."
	case LinkSignIn:
		return "Sign in to send. Nothing is lost."
	case LinkCutOff:
		return "This device was removed from the firm. What was not sent is kept for your supervisor."
	case LinkOld:
		return "Update needed before sending. You can keep recording."
	case LinkTrouble:
		return "Sending stopped: " + jobs.Lower(sentence(link.Says)) + " Everything is kept."
	}
	if link.Checked.IsZero() {
		return "Not checked yet."
	}
	return "Last checked " + clock(link.Checked) + "."
}

// changes counts what waits: "14 changes and 2 photos", "" for nothing.
func changes(entries, photos int) string {
	switch {
	case entries > 0 && photos > 0:
		return jobs.Count(entries, "change") + " and " + jobs.Count(photos, "photo")
	case entries > 0:
		return jobs.Count(entries, "change")
	case photos > 0:
		return jobs.Count(photos, "photo")
	}
	return ""
}
