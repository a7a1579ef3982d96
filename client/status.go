package main

import (
	"fmt"
	"time"

	"tacet/client/home"
	"tacet/client/runner"
	"tacet/jobs"
	"tacet/sync/replica"
)

type statusCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// status is how a home stands.
type status struct {
	Home        string  `json:"home"`
	Device      string  `json:"device"`
	Company     string  `json:"company"`
	Server      string  `json:"server"`
	Login       string  `json:"login"`
	Role        string  `json:"role"`
	Jobs        int     `json:"jobs"`
	Waiting     int     `json:"waiting"`
	Photos      int     `json:"photos_waiting"`
	Held        int     `json:"held"`
	Disputed    int     `json:"disputed"`
	OldestSince *string `json:"oldest_waiting"`
	LastSync    *string `json:"last_sync"`
	Link        string  `json:"link"`
	Says        string  `json:"says"`
	Kept        []kept  `json:"held_records"` // of this device
	Succeeded   string  `json:"succession"`

	Warnings []string `json:"warnings"`
}

// kept is a record of this device that waits for the supervisor, or that the supervisor did not take.
type kept struct {
	Job    string `json:"job"`
	Entry  string `json:"entry"`
	Kind   string `json:"kind"`
	State  string `json:"state"` // held or refused
	Reason string `json:"reason"`
}

// line says what happened, what is safe and what to do.
func (k kept) line() string {
	if k.State == string(replica.Refused) {
		return fmt.Sprintf("The supervisor did not take 1 record (%s): %q. It stays in the history. Record again if it was right.", k.Kind, k.Reason)
	}
	return fmt.Sprintf("1 record (%s) waits for the supervisor: %q. It is kept and nobody else counts on it yet.", k.Kind, k.Reason)
}

// keptRecords lists what of this device's records waits or was not taken.
func keptRecords(s *session, h *home.Home) ([]kept, error) {
	list, err := h.Replica.Answerable(s.ctx, h.Me.Company)
	out := []kept{}
	for _, e := range list {
		if e.Dev == h.Me.Device {
			out = append(out, kept{Job: e.Job, Entry: e.ID, Kind: e.Kind, State: string(e.State), Reason: e.Says})
		}
	}
	return out, err
}

// succeeded says since when this home is another device.
func succeeded(h *home.Home) (string, error) {
	s, is, err := h.Succession()
	if err != nil || !is {
		return "", err
	}
	what := "restored from a backup"
	if s.Why == home.WhyCopied {
		what = "found to be a copy of another"
	}
	return fmt.Sprintf("This home was %s on %s. It goes on as a new device; %s sent again, and counts once. Tell the office if you did not expect this: one key was in two places.",
		what, s.At.Format("2 Jan 2006, 15:04 UTC"), jobs.Count(s.Again, "record")), nil
}

// Run says what is saved, what is sent, and what to do.
func (c *statusCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		st, err := statusOf(s, h)
		if err != nil {
			return err
		}
		if c.JSON {
			return s.writeJSON(st)
		}
		p := &printer{w: s.Out}
		p.line("%s", st.Says)
		p.line("Home      %s", st.Home)
		p.line("Device    %s", st.Device)
		if st.Server == "" {
			p.line("Server    none: this home works alone")
		} else {
			p.line("Server    %s, %s", st.Server, signedInAs(st))
		}
		p.line("Jobs      %d", st.Jobs)
		if st.Disputed > 0 {
			p.line("Disputed  %d, see: client conflicts", st.Disputed)
		}
		if st.Held > 0 {
			p.line("Held      %d wait for the supervisor; nobody else counts on them yet", st.Held)
		}
		for _, k := range st.Kept {
			p.line("%s", k.line())
		}
		if st.Succeeded != "" {
			p.line("%s", st.Succeeded)
		}
		for _, w := range st.Warnings {
			p.line("%s", w)
		}
		return p.err
	})
}

// signedInAs says who would send now.
func signedInAs(st status) string {
	who := fmt.Sprintf("%s (%s)", st.Login, st.Role)
	switch st.Link {
	case home.ContactRevoked:
		return "which takes nothing more from this device; used by " + who
	case home.ContactSignIn:
		return "nobody signed in; last used by " + who
	}
	return "signed in as " + who
}

func statusOf(s *session, h *home.Home) (status, error) {
	st := status{Home: h.Dir, Device: h.Me.Device, Company: h.Me.Company, Server: h.Me.Server, Login: h.Me.Login, Role: string(h.Me.Role)}
	rows, err := h.Replica.Jobs(s.ctx, h.Me.Company)
	if err != nil {
		return st, err
	}
	st.Jobs = len(rows)
	for _, r := range rows {
		st.Held += r.Held
	}
	disputed, err := conflictsIn(s, h, rows)
	if err != nil {
		return st, err
	}
	st.Disputed = len(disputed)
	if st.Kept, err = keptRecords(s, h); err != nil {
		return st, err
	}
	if st.Succeeded, err = succeeded(h); err != nil {
		return st, err
	}
	warnings, err := h.Warnings(s.ctx)
	if err != nil {
		return st, err
	}
	st.Warnings = append([]string{}, warnings...)
	waiting, photos, oldest, err := h.Replica.Waiting(s.ctx, h.Me.Company)
	if err != nil {
		return st, err
	}
	if !h.Enrolled() {
		st.Says = "Saved on this device. It works alone; there is no server to send to."
		return st, nil
	}
	st.Waiting, st.Photos = waiting, photos
	if waiting > 0 {
		at := oldest.Format(time.RFC3339)
		st.OldestSince = &at
	}
	last, err := h.Contact()
	if err != nil {
		return st, err
	}
	st.Link = last.State
	checked := "never"
	if !last.Done.IsZero() {
		at := last.Done.Format(time.RFC3339)
		st.LastSync = &at
		checked = last.Done.Format("2 Jan 2006, 15:04 UTC")
	}
	st.Says = statusLine(last, waiting+photos, checked)
	return st, nil
}

// statusLine says what happened, what is safe and what to do.
func statusLine(last home.Contact, waiting int, checked string) string {
	switch {
	case last.State == home.ContactRevoked:
		return runner.CutOff(waiting)
	case last.State == home.ContactSignIn:
		return fmt.Sprintf("Sign in to send %s. Nothing is lost.", jobs.Count(waiting, "change"))
	case last.State == home.ContactOld:
		return "Update needed before sending. You can keep recording."
	case last.State == home.ContactOffline:
		return fmt.Sprintf("No connection. Your work is saved here and will be sent later. %s to send.", jobs.Count(waiting, "change"))
	case last.State == home.ContactTrouble:
		return fmt.Sprintf("Not sent: %s. %s kept here.", last.Says, jobs.Count(waiting, "change"))
	case waiting > 0:
		return fmt.Sprintf("Saved on this device. %s to send. Last checked %s.", jobs.Count(waiting, "change"), checked)
	case last.Done.IsZero():
		return "Nothing to send. The server was not asked yet."
	}
	return fmt.Sprintf("All changes sent. Last checked %s.", checked)
}
