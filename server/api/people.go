package api

import (
	"github.com/gofiber/fiber/v2"

	"tacet/sync/wire"
)

// getPeople is the directory of the company: entries name people by id only.
func (s *Server) getPeople(c *fiber.Ctx) error {
	people, err := s.accounts.People(c.UserContext(), who(c).Company)
	if err != nil {
		return err
	}
	return answer(c, wire.People{People: people})
}
