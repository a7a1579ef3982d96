package app

import (
	"context"
	"errors"
	"strings"
	"time"
	_ "time/tzdata" // so that TZ works where the system knows no zones, as in a container

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/api"
	"tacet/server/commandline"
	"tacet/server/live"
	"tacet/server/notice"
	"tacet/server/pages"
	"tacet/server/phone"
	"tacet/sync/archive"
	"tacet/sync/replica"
)

// mountPages hangs the pages into the server: the one place where both meet.
func mountPages(s *api.Server, h *house, c Config, notices *notice.Notices, hub *live.Hub) {
	p := pages.New(pages.Deps{
		Program: pages.Server,
		Version: commandline.Version(),
		Record:  h.replica,
		Blobs:   h.blobs,
		Who: func(f *fiber.Ctx) (pages.Visitor, error) {
			w, err := s.Visitor(f)
			if errors.Is(err, replica.ErrSignIn) {
				if guest, ok := asGuest(s, h, f); ok {
					return guest, nil
				}
			}
			if err != nil {
				return pages.Visitor{}, err
			}
			firm, err := h.accounts.Company(f.UserContext(), w.Company)
			if err != nil {
				return pages.Visitor{}, err
			}
			return pages.Visitor{Company: w.Company, Firm: firm.Name, Person: w.Person, Name: w.Name, Role: w.Role, Login: w.Login,
				SetUp: c.secondFactor() && accounts.WantsFactor(w.Role) && !w.Factor}, nil
		},
		Name: func(ctx context.Context, company, person string) string {
			name, err := h.accounts.NameOf(ctx, company, person)
			if err != nil {
				c.Log.Error("look up a name", "error", err.Error())
			}
			return name
		},
		Shown: func(ctx context.Context, who pages.Visitor, rows []replica.JobRow) ([]replica.JobRow, error) {
			return h.replica.Shown(ctx, who.Company, replica.Viewer{Persons: map[string]jobs.Role{who.Person: who.Role}}, rows)
		},
		SeesAll: func(ctx context.Context, who pages.Visitor) (bool, error) {
			return h.replica.SeesAll(ctx, who.Company, replica.Viewer{Persons: map[string]jobs.Role{who.Person: who.Role}})
		},
		Whole: func(ctx context.Context, company, job string) (archive.Content, error) {
			c, err := archive.Collect(ctx, h.store, company, job)
			c.ServerKey = h.key
			return c, err
		},
		Live:      hub,
		Zone:      time.Local,
		SheetHost: strings.TrimRight(c.Public, "/"),
		SignIn:    s.SignIn,
		SignOut:   s.SignOut,
		Accounts:  h.accounts,
		Caller:    s.Caller,
		Invite:    s.Invite,
		Notices:   notices,
		Log:       c.Log,
	})
	ph := phone.New()
	s.SetTakeAlong(func(ctx context.Context, w accounts.Who, job string) (any, error) {
		return p.TakeAlong(ctx, pages.Visitor{Company: w.Company, Person: w.Person, Name: w.Name, Role: w.Role}, job)
	})
	s.Mount(func(r fiber.Router) { p.Register(r); ph.Register(r) }, p.Fail)
}

// asGuest is the visitor whose browser holds a guest's secret that still opens something.
func asGuest(s *api.Server, h *house, f *fiber.Ctx) (pages.Visitor, bool) {
	in, err := s.Guest(f)
	if err != nil {
		return pages.Visitor{}, false
	}
	firm, err := h.accounts.Company(f.UserContext(), in.Company)
	if err != nil {
		return pages.Visitor{}, false
	}
	return pages.Visitor{Company: in.Company, Firm: firm.Name, Person: in.Guest.ID, Name: in.Guest.Name + ", a guest who only reads", Guest: in.Guest.Job}, true
}
