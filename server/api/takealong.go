package api

import (
	"cmp"
	"context"
	"slices"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

// TakeAlong makes what a person's phone keeps of a job. The pages make it, because a phone shows what they show.
type TakeAlong func(ctx context.Context, w accounts.Who, job string) (any, error)

// SetTakeAlong hangs it in; until then nobody can take anything along.
func (s *Server) SetTakeAlong(make TakeAlong) { s.takeAlong = make }

// jobsToTake lists the jobs that a phone may take along, the latest first.
type jobsToTake struct {
	Jobs []jobToTake `json:"jobs"`
}

type jobToTake struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Site string `json:"site"`
}

func (s *Server) getTakeAlongList(c *fiber.Ctx) error {
	rows, err := s.replica.Jobs(c.UserContext(), who(c).Company)
	if err != nil {
		return err
	}
	v, err := s.viewer(c)
	if err != nil {
		return err
	}
	if rows, err = s.replica.Shown(c.UserContext(), who(c).Company, v, rows); err != nil {
		return err
	}
	slices.SortStableFunc(rows, func(a, b replica.JobRow) int { return cmp.Compare(b.Last, a.Last) })
	list := jobsToTake{Jobs: []jobToTake{}}
	for _, r := range rows {
		list.Jobs = append(list.Jobs, jobToTake{ID: r.ID, Name: r.Name, Site: r.Site})
	}
	return answer(c, list)
}

func (s *Server) getTakeAlong(c *fiber.Ctx) error {
	if s.takeAlong == nil {
		return jobs.ErrNotFound
	}
	if err := s.seen(c); err != nil {
		return err
	}
	kept, err := s.takeAlong(c.UserContext(), who(c), c.Params("job"))
	if err != nil {
		return err
	}
	return answer(c, kept)
}
