package notice

import (
	"fmt"
	"strings"
	"time"

	"tacet/server/accounts"
)

// letter is a mail in plain text.
type letter struct {
	id, to, subject, text string
	stop                  string // address that stops further ones; empty where there is nothing to stop
	made                  time.Time
}

// digest writes one mail about all things.
func (n *Notices) digest(w accounts.NoticeWish, note accounts.Notice, things []Thing, namesJob bool) letter {
	l := letter{id: note.ID, to: w.Mail, made: note.Made, stop: n.host + "/notices/stop/" + n.accounts.StopLink(w)}
	first := map[Kind]int{}
	for _, t := range things {
		first[t.Kind]++
	}
	var parts []string
	for _, k := range Kinds() {
		if m := first[k]; m > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", m, subjectWords(k, m)))
		}
	}
	l.subject = strings.Join(parts, ", ")
	var b strings.Builder
	fmt.Fprintf(&b, "As at %s:\r\n", n.clock(note.Made))
	for _, k := range Kinds() {
		for _, t := range things {
			if t.Kind == k {
				fmt.Fprintf(&b, "\r\n%s\r\n%s\r\n", n.line(t, namesJob), n.host+n.link(t))
			}
		}
	}
	fmt.Fprintf(&b, "\r\nThe links open after signing in. You asked for these mails on your own page,\r\n%s/account/notices, where you can change them.\r\nTo stop them: %s\r\n", n.host, l.stop)
	l.text = b.String()
	return l
}

// line says a thing in one line, without a name of anybody.
func (n *Notices) line(t Thing, namesJob bool) string {
	s := t.Surface
	if t.Layer > 0 {
		s += fmt.Sprintf(", layer %d,", t.Layer)
	}
	s += " " + t.Says
	if !t.CoverAt.IsZero() && t.Kind == ToSee {
		s += "; covering " + n.clock(t.CoverAt)
	}
	if namesJob && t.JobName != "" {
		s = t.JobName + ": " + s
	}
	return s + "."
}

func subjectWords(k Kind, n int) string {
	words := map[Kind][2]string{ToSee: {"layer to be seen", "layers to be seen"}, StopFailed: {"stop check failed", "stop checks failed"}, Substitution: {"substitution to answer", "substitutions to answer"},
		CoveredUnseen: {"layer covered unseen", "layers covered unseen"}, NonConformance: {"thing to be put right", "things to be put right"}}[k]
	if n == 1 {
		return words[0]
	}
	return words[1]
}

// confirmation asks whether an address is the one that was meant.
func (n *Notices) confirmation(w accounts.NoticeWish, note accounts.Notice) letter {
	return letter{id: note.ID, to: w.Mail, made: note.Made, subject: "Is this the address for your news?",
		text: "Somebody asked for news of their firm's work to be sent to this address. If it was you, open this and confirm it:\r\n\r\n" + n.host + "/notices/confirm/" + n.accounts.ConfirmLink(w) +
			"\r\n\r\nIf it was not you, do nothing; no more will come.\r\n"}
}

func (n *Notices) clock(t time.Time) string { return t.In(n.zone).Format("2 Jan 2006, 15:04") }
