package api

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/acoustics"
	"tacet/server/accounts"
	"tacet/sync/wire"
)

// postEnrol makes a device part of a company by a one-time code.
func (s *Server) postEnrol(c *fiber.Ctx) error {
	var q wire.EnrolRequest
	if err := decode(c, &q); err != nil {
		return err
	}
	proof, err := readProof(q.Proof, q.Signed)
	if err != nil {
		return err
	}
	d := accounts.NewDevice{ID: q.Device, Key: q.PublicKey, Name: q.Name, Proof: proof}
	g, err := s.accounts.Enrol(c.UserContext(), q.Code, d, s.address(c))
	if err != nil {
		return err
	}
	company, err := s.accounts.Company(c.UserContext(), g.Company)
	if err != nil {
		return err
	}
	return answer(c, wire.EnrolAnswer{
		Company: g.Company, CompanyName: company.Name,
		Person: g.Person, PersonName: g.Name, Role: g.Role, Login: g.Login,
		ServerKey: s.key, Tokens: s.tokens(g),
	})
}

// postSignIn signs a person in on an enrolled device.
func (s *Server) postSignIn(c *fiber.Ctx) error {
	var q wire.SignInRequest
	if err := decode(c, &q); err != nil {
		return err
	}
	proof, err := readProof(q.Proof, q.Signed)
	if err != nil {
		return err
	}
	g, err := s.accounts.SignIn(c.UserContext(), q.Login, q.Password, q.Device, proof, s.address(c))
	if err != nil {
		return err
	}
	return answer(c, s.tokens(g))
}

// postRefresh exchanges a refresh token for new tokens.
func (s *Server) postRefresh(c *fiber.Ctx) error {
	var q wire.RefreshRequest
	if err := decode(c, &q); err != nil {
		return err
	}
	proof, err := readProof(q.Proof, q.Signed)
	if err != nil {
		return err
	}
	g, err := s.accounts.Refresh(c.UserContext(), q.RefreshToken, proof)
	if err != nil {
		return err
	}
	return answer(c, s.tokens(g))
}

func (s *Server) tokens(g accounts.Grant) wire.Tokens {
	return wire.Tokens{AccessToken: g.Access, RefreshToken: g.Refresh, ExpiresIn: int(g.Until.Sub(s.now()).Seconds())}
}

func readProof(p wire.Proof, signed func(int64) ([]byte, error)) (accounts.Proof, error) {
	message, err := signed(p.At)
	if err != nil {
		return accounts.Proof{}, &acoustics.InputError{Field: "proof", Value: "not one of a request", Hint: err.Error()}
	}
	return accounts.Proof{At: time.UnixMilli(p.At), Message: message, Sig: p.Sig}, nil
}

// decode reads a small JSON body as strictly as everything else that is read.
func decode(c *fiber.Ctx, v any) error {
	b, err := body(c, smallBody)
	if err != nil {
		return err
	}
	return acoustics.Decode(b, v)
}

// answer sends what nobody may keep a copy of.
func answer(c *fiber.Ctx, v any) error {
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.JSON(v)
}
