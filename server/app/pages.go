package app

import (
	"context"
	"runtime/debug"
	"strings"
	"time"
	_ "time/tzdata" // so that TZ works where the system knows no zones, as in a container

	"github.com/gofiber/fiber/v2"

	"tacet/server/api"
	"tacet/server/pages"
)

// mountPages hangs the pages into the server: the one place where both meet.
func mountPages(s *api.Server, h *house, c Config) {
	p := pages.New(pages.Deps{
		Program: pages.Server,
		Version: version(),
		Record:  h.replica,
		Blobs:   h.blobs,
		Who: func(f *fiber.Ctx) (pages.Visitor, error) {
			w, err := s.Visitor(f)
			if err != nil {
				return pages.Visitor{}, err
			}
			firm, err := h.accounts.Company(f.UserContext(), w.Company)
			if err != nil {
				return pages.Visitor{}, err
			}
			return pages.Visitor{Company: w.Company, Firm: firm.Name, Person: w.Person, Name: w.Name, Role: w.Role}, nil
		},
		Name: func(ctx context.Context, company, person string) string {
			name, err := h.accounts.NameOf(ctx, company, person)
			if err != nil {
				c.Log.Error("look up a name", "error", err.Error())
			}
			return name
		},
		Zone:      time.Local,
		SheetHost: strings.TrimRight(c.Public, "/"),
		SignIn:    s.SignIn,
		SignOut:   s.SignOut,
		Log:       c.Log,
	})
	s.Mount(p.Register, p.Fail)
}

// version is the version of the program, or the commit that it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return s.Value[:min(12, len(s.Value))]
		}
	}
	return "development"
}
