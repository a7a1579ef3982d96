package api

import (
	"bytes"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tacet/acoustics"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// viewer is who looks: the device that asks, with all who use it.
func (s *Server) viewer(c *fiber.Ctx) (replica.Viewer, error) {
	return s.accounts.Viewer(c.UserContext(), who(c))
}

// seen makes sure that whoever asks sees the job of the path; another is not there for them.
func (s *Server) seen(c *fiber.Ctx) error {
	v, err := s.viewer(c)
	if err != nil {
		return err
	}
	return s.replica.MaySee(c.UserContext(), who(c).Company, v, c.Params("job"))
}

// getAccess tells a device what was said about access, and which jobs it sees.
func (s *Server) getAccess(c *fiber.Ctx) error {
	v, err := s.viewer(c)
	if err != nil {
		return err
	}
	a, err := s.replica.AccessFor(c.UserContext(), who(c).Company, v)
	if err != nil {
		return err
	}
	return answer(c, a)
}

// accessBody is how much of what a device brings back is read: ten thousand statements.
const accessBody = 4 << 20

// postAccess takes back what this server once said about access. It is signed by the server itself, so any device may bring it.
func (s *Server) postAccess(c *fiber.Ctx) error {
	b, err := body(c, accessBody)
	if err != nil {
		return err
	}
	var q wire.SaidRequest
	if err := acoustics.Decode(b, &q); err != nil {
		return err
	}
	w := who(c)
	fresh, err := s.replica.Heed(c.UserContext(), w.Company, q.Access)
	if err != nil {
		return err
	}
	if err := s.accounts.Returned(c.UserContext(), w.Company, fresh); err != nil {
		return err
	}
	return c.SendStatus(fiber.StatusNoContent)
}

// getHistory hands on the log about one job, for a device that was given it later than it began.
func (s *Server) getHistory(c *fiber.Ctx) error {
	if err := s.seen(c); err != nil {
		return err
	}
	after, err := number(c, "after")
	if err != nil {
		return err
	}
	upto, err := number(c, "upto")
	if err != nil {
		return err
	}
	size, err := pageSize(c)
	if err != nil {
		return err
	}
	v, err := s.viewer(c)
	if err != nil {
		return err
	}
	page, err := s.replica.HistoryFor(c.UserContext(), who(c).Company, v, c.Params("job"), after, upto, size)
	if err != nil {
		return err
	}
	return frames(c, func(b *bytes.Buffer) error { return wire.WritePage(b, page) })
}

// pageSize is how many bytes of entries a page may hold.
func pageSize(c *fiber.Ctx) (int, error) {
	q := c.Query("bytes")
	if q == "" {
		return replica.MaxPage, nil
	}
	n, err := strconv.Atoi(q)
	if err != nil || n < 1 {
		return 0, &acoustics.InputError{Field: "bytes", Value: strconv.Quote(q), Range: "a whole number above 0"}
	}
	return min(max(n, replica.MinPage), replica.MaxPage), nil
}
