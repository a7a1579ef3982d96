package api

import (
	"github.com/gofiber/fiber/v2"

	"tacet/server/accounts"
	"tacet/sync/wire"
)

// postSuccessor lets a device that was restored or copied go on under a new id.
func (s *Server) postSuccessor(c *fiber.Ctx) error {
	var q wire.SuccessorRequest
	if err := decode(c, &q); err != nil {
		return err
	}
	old, err := readProof(q.Proof, q.Signed)
	if err != nil {
		return err
	}
	next, err := readProof(q.NextProof, q.Signed)
	if err != nil {
		return err
	}
	d := accounts.NewDevice{ID: q.Next, Key: q.PublicKey, Name: q.Name, Proof: next}
	g, err := s.accounts.Succeed(c.UserContext(), q.Device, old, q.Login, d)
	if err != nil {
		return err
	}
	return answer(c, s.tokens(g))
}
