package pages

import (
	"html/template"
	"time"

	"tacet/server/drawing"
)

// frame is what stands round every page.
type frame struct {
	Title   string // of the window
	Nav     []navItem
	Line    *statusLine
	Person  string
	SignOut bool
	Version string
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
	f := frame{Title: title, Person: v.who.Name, Version: v.deps.Version, SignOut: v.deps.SignOut != nil && v.who.Person != ""}
	if v.who.Person == "" {
		return f
	}
	add := func(text, href string) {
		f.Nav = append(f.Nav, navItem{text, href, v.c.Path() == href})
	}
	add("Jobs", "/")
	if (Page{Roles: judges}).MayOpen(v.who.Role) {
		add("To be seen", "/queue")
	}
	if v.deps.Program == Client {
		add("Waiting to be sent", "/waiting")
		f.Line = v.line()
	}
	return f
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

// statusOf puts the state of the link into words. Saved means on the disk, sent means that the server has confirmed it.
func statusOf(link Link, entries, photos int, clock func(time.Time) string) statusLine {
	waits := changes(entries, photos)
	notch := drawing.MarkWaiting
	if waits == "" {
		notch = drawing.MarkOnServer
	}
	l := statusLine{Mark: mark(notch)}
	switch link.State {
	case LinkAlone:
		l.Mark, l.Says = "", "Saved on this device. It is not joined to an office."
	case LinkSending:
		l.Says = "Sending. You can keep working."
		if waits != "" {
			l.Says = "Sending " + waits + ". You can keep working."
		}
	case LinkOffline:
		l.Says = "No connection. Your work is saved here and will be sent later."
		if waits != "" {
			l.Says = "No connection. Saved on this device, " + waits + " to send."
		}
	case LinkSignIn:
		l.Says = "Sign in to send. Nothing is lost."
		if waits != "" {
			l.Says = "Sign in to send " + waits + ". Nothing is lost."
		}
	case LinkCutOff:
		l.Mark, l.Says = mark(drawing.MarkHeld), "This device was removed from the firm. What was not sent is kept for your supervisor."
	case LinkOld:
		l.Says = "Update needed before sending. You can keep recording."
	case LinkTrouble:
		l.Mark, l.Says = mark(drawing.MarkHeld), "Saved on this device, not sent: "+sentence(link.Says)
	default:
		l.Says = "All changes sent."
		if waits != "" {
			l.Says = "Saved on this device. " + capital(waits) + " to send."
		}
		if !link.Checked.IsZero() {
			l.Says += " Last checked " + clock(link.Checked) + "."
		}
	}
	if waits != "" && link.State != LinkAlone && link.State != LinkSending && link.State != LinkCutOff {
		l.Do = step{"Send now", "/waiting"}
	}
	return l
}

// changes counts what waits: "14 changes and 2 photos", "" for nothing.
func changes(entries, photos int) string {
	switch {
	case entries > 0 && photos > 0:
		return count(entries, "change") + " and " + count(photos, "photo")
	case entries > 0:
		return count(entries, "change")
	case photos > 0:
		return count(photos, "photo")
	}
	return ""
}
