package app

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/privacy"
)

// desk is where people's questions about their data are answered.
func (h *house) desk() *privacy.Desk {
	return &privacy.Desk{Record: h.replica, Accounts: h.accounts, Blobs: h.blobs, Now: time.Now}
}

// whomArgs say whose data are meant.
type whomArgs struct {
	As    string `required:"" placeholder:"LOGIN" help:"Owner or office in whose name it is done; it is noted under that name."`
	Login string `placeholder:"LOGIN" help:"Somebody with an account."`
	Words string `placeholder:"TEXT" help:"Anybody, by name or words that name them."`
}

// find looks up who acts and who is meant.
func (c whomArgs) find(r *run, h *house) (accounts.User, privacy.Subject, error) {
	as, err := h.actor(r, c.As)
	if err != nil {
		return as, privacy.Subject{}, err
	}
	s := privacy.Subject{Words: c.Words}
	if c.Login == "" {
		return as, s, nil
	}
	u, err := h.accounts.UserByLogin(r.ctx, c.Login)
	if err == nil && u.Company != as.Company {
		err = fmt.Errorf("login %s: %w", c.Login, jobs.ErrNotFound)
	}
	s.Person = u.Person
	return as, s, err
}

// actor is the person in whose name a command acts.
func (h *house) actor(r *run, login string) (accounts.User, error) {
	u, err := h.accounts.UserByLogin(r.ctx, login)
	if err == nil && u.Role != jobs.Owner && u.Role != jobs.Office {
		err = &jobs.RuleError{Says: "people's data are looked after by the owner or the office"}
	}
	return u, err
}

type privacyExportCmd struct {
	whomArgs
	File string `arg:"" help:"Zip file to make."`
}

// Run writes all that is held about a person into a file for its owner alone.
func (c *privacyExportCmd) Run(r *run) error {
	return r.with(func(h *house) (err error) {
		as, s, err := c.find(r, h)
		if err != nil {
			return err
		}
		f, err := h.desk().Find(r.ctx, as.Company, s)
		if err != nil {
			return err
		}
		firm, err := h.accounts.Company(r.ctx, as.Company)
		if err != nil {
			return err
		}
		if err := h.accounts.Note(r.ctx, as.Company, as.Person, "took a copy of what is held about somebody", s.Person); err != nil {
			return err
		}
		out, err := os.OpenFile(c.File, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if errors.Is(err, os.ErrExist) {
			return badFlag("file", c.File, "it exists already; give a new name")
		}
		if err != nil {
			return fmt.Errorf("write %s: %w", c.File, err)
		}
		defer func() { err = errors.Join(err, out.Close()) }()
		if err := h.desk().Write(r.ctx, out, as.Company, firm.Name, f); err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "Records: %d. Look through the file before you give it away: what names others is not theirs.\n", len(f.Lines))
		return err
	})
}

type privacyEraseCmd struct{ whomArgs }

// Run erases what names a person.
func (c *privacyEraseCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		as, s, err := c.find(r, h)
		if err != nil {
			return err
		}
		done, err := h.desk().Erase(r.ctx, as.Company, jobs.Author{Person: as.Person, Role: as.Role}, s)
		if err != nil {
			return err
		}
		if err := h.accounts.Note(r.ctx, as.Company, as.Person, "erased what named somebody", s.Person); err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "Records erased: %d. Records that name them where nothing is sealed, and stay: %d. Devices follow at their next contact; write a backup now.\n", done.Records, len(done.Stays))
		return err
	})
}

type privacyTimesCmd struct {
	As     string         `required:"" placeholder:"LOGIN" help:"Owner or office in whose name it is done; only an owner sets it."`
	Keep   map[string]int `placeholder:"CLASS=DAYS" help:"Keep a class for so many days; may be given several times."`
	Itself []string       `placeholder:"CLASS" help:"Erase it each day by itself once it is over its time, in the name of the owner."`
	Hand   []string       `name:"by-hand" placeholder:"CLASS" help:"Erase it only when an owner says so, as by default."`
	JSON   bool           `name:"json" help:"As JSON."`
}

type timesLine struct {
	Class   string `json:"class"`
	Days    int    `json:"days"`
	Default int    `json:"default_days"`
	Itself  bool   `json:"by_itself"`
	Hand    string `json:"by_hand,omitempty"`
}

// Run lists for how long what is kept, after it has set what was asked for.
func (c *privacyTimesCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		as, err := h.actor(r, c.As)
		if err != nil {
			return err
		}
		kept, err := h.desk().Classes(r.ctx, as.Company)
		if err != nil {
			return err
		}
		if len(c.Keep)+len(c.Itself)+len(c.Hand) > 0 {
			if as.Role != jobs.Owner {
				return &jobs.RuleError{Says: "for how long what is kept is set by the owner"}
			}
			if err := h.desk().Set(r.ctx, as.Company, as.Person, c.said(kept)); err != nil {
				return err
			}
			if err := h.accounts.Note(r.ctx, as.Company, as.Person, "changed how long what is kept", ""); err != nil {
				return err
			}
			if kept, err = h.desk().Classes(r.ctx, as.Company); err != nil {
				return err
			}
		}
		lines := make([]timesLine, len(kept))
		for i, k := range kept {
			lines[i] = timesLine{k.Code, k.Now, k.Days, k.Itself || k.By != "", k.Hand}
		}
		return r.print(c.JSON, lines, func(w io.Writer) {
			for _, l := range lines {
				says := l.Hand
				if l.Itself {
					says = "goes by itself"
				}
				fmt.Fprintf(w, "%-12s %6d days  by default %d  %s\n", l.Class, l.Days, l.Default, says)
			}
		})
	})
}

// said is what the flags say of the classes that they name; the rest of each stays as it is.
func (c *privacyTimesCmd) said(kept []privacy.Kept) map[string]privacy.Setting {
	now := map[string]privacy.Setting{}
	for _, k := range kept {
		now[k.Code] = privacy.Setting{Days: k.Now, Itself: k.By != ""}
	}
	said := map[string]privacy.Setting{}
	set := func(code string, change func(*privacy.Setting)) {
		s, ok := said[code]
		if !ok {
			if s, ok = now[code]; !ok {
				s.Days = 1 // no such class, which Set says
			}
		}
		change(&s)
		said[code] = s
	}
	for code, days := range c.Keep {
		set(code, func(s *privacy.Setting) { s.Days = days })
	}
	for _, code := range c.Itself {
		set(code, func(s *privacy.Setting) { s.Itself = true })
	}
	for _, code := range c.Hand {
		set(code, func(s *privacy.Setting) { s.Itself = false })
	}
	return said
}

type privacyOldCmd struct {
	As    string `required:"" placeholder:"LOGIN" help:"Owner in whose name it is done."`
	Apply bool   `help:"Erase it. Without this it is only counted."`
	JSON  bool   `name:"json" help:"As JSON."`
}

type oldLine struct {
	Class string `json:"class"`
	Days  int    `json:"days"`
	Over  int    `json:"over"`
	Hand  string `json:"by_hand,omitempty"`
}

// Run counts what is over its time, and erases it when told to.
func (c *privacyOldCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		as, err := h.actor(r, c.As)
		if err != nil {
			return err
		}
		if as.Role != jobs.Owner {
			return &jobs.RuleError{Says: "what is over its time is erased by the owner"}
		}
		var due []privacy.Due
		if c.Apply {
			if due, err = h.desk().Apply(r.ctx, as.Company, jobs.Author{Person: as.Person, Role: as.Role}); err == nil {
				err = h.accounts.Note(r.ctx, as.Company, as.Person, "erased what was over its time", "")
			}
		} else {
			due, err = h.desk().Due(r.ctx, as.Company)
		}
		if err != nil {
			return err
		}
		lines := make([]oldLine, len(due))
		for i, d := range due {
			lines[i] = oldLine{d.Code, d.Now, d.Count, d.Hand}
		}
		return r.print(c.JSON, lines, func(w io.Writer) {
			for _, l := range lines {
				fmt.Fprintf(w, "%-12s %6d days  %5d over it  %s\n", l.Class, l.Days, l.Over, l.Hand)
			}
		})
	})
}
