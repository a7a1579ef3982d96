package api

import (
	"fmt"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// Keys of what a request carries along.
const (
	localRequest = "tacet request"
	localWho     = "tacet who"
)

// device lets a request pass that carries an access token of someone who may do what.
func (s *Server) device(what accounts.Action) fiber.Handler {
	return func(c *fiber.Ctx) error {
		scheme, token, _ := strings.Cut(c.Get(fiber.HeaderAuthorization), " ")
		if !strings.EqualFold(scheme, "Bearer") || token == "" {
			return &replica.Refusal{Err: replica.ErrSignIn, Says: "no access token"}
		}
		w, err := s.accounts.Authenticate(c.UserContext(), token)
		if err != nil {
			return err
		}
		c.Locals(localWho, w)
		if !accounts.May(w.Role, what) {
			return fmt.Errorf("%s: %w", what, jobs.ErrRefused)
		}
		return c.Next()
	}
}

// protocol refuses programs whose protocol is not spoken here any more; a program that names none is taken at its word.
func protocol(c *fiber.Ctx) error {
	if p := c.Get(wire.HeaderProtocol); p != "" && p != fmt.Sprint(wire.Protocol) {
		return replica.ErrTooOld
	}
	return c.Next()
}

// who is the person that auth let in.
func who(c *fiber.Ctx) accounts.Who {
	w, ok := c.Locals(localWho).(accounts.Who)
	if !ok {
		panic("a handler asks who it is on a route that asks nobody") // found by the first test of the route
	}
	return w
}
