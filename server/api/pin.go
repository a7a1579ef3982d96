package api

import (
	"github.com/gofiber/fiber/v2"

	"tacet/sync/wire"
)

// putPin gives the person who signed in on a device a PIN there.
func (s *Server) putPin(c *fiber.Ctx) error {
	var q wire.PinRequest
	if err := decode(c, &q); err != nil {
		return err
	}
	if err := s.accounts.SetPin(c.UserContext(), who(c), q.Pin); err != nil {
		return err
	}
	return c.SendStatus(fiber.StatusNoContent)
}

// postSignInPin signs a person in on a shared device where they have a PIN.
func (s *Server) postSignInPin(c *fiber.Ctx) error {
	var q wire.PinSignInRequest
	if err := decode(c, &q); err != nil {
		return err
	}
	proof, err := readProof(q.Proof, q.Signed)
	if err != nil {
		return err
	}
	g, err := s.accounts.SignInPin(c.UserContext(), q.Login, q.Pin, q.Device, proof, s.address(c))
	if err != nil {
		return err
	}
	return answer(c, s.tokens(g))
}
