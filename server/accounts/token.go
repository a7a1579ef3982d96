package accounts

import (
	"context"
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"tacet/jobs"
	"tacet/sync/wire"
)

const (
	// AccessLife is how long an access token is good for. It only spares the password: person and device are looked up each time.
	AccessLife = 12 * time.Minute

	audience  = "tacet server"
	tokenType = "at+jwt" // RFC 9068; keeps a token of another sort from passing as this one
	maxToken  = 2 << 10  // ours are about 500 bytes
)

type claims struct {
	jwt.RegisteredClaims
	Company string `json:"co"`
	Device  string `json:"dev"`
}

func (a *Accounts) issuer() string { return "urn:uuid:" + a.keys.Server }

// access signs an access token for a person on a device.
func (a *Accounts) access(co, person, device string) (string, time.Time, error) {
	id, err := a.secret()
	if err != nil {
		return "", time.Time{}, err
	}
	now := a.now()
	until := now.Add(AccessLife)
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer: a.issuer(), Audience: jwt.ClaimStrings{audience}, Subject: person, ID: id,
			IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(until),
		},
		Company: co, Device: device,
	})
	t.Header["typ"] = tokenType
	t.Header["kid"] = wire.KeyID(a.keys.Token.Public().(ed25519.PublicKey))
	text, err := t.SignedString(a.keys.Token)
	if err != nil {
		return "", time.Time{}, fmt.Errorf("sign access token: %w", err)
	}
	return text, until, nil
}

// Authenticate tells who an access token speaks for, with the role and the states that the database has now. Whatever is wrong with the
// token, the answer is ErrSignIn; a revoked device is told so.
func (a *Accounts) Authenticate(ctx context.Context, token string) (Who, error) {
	c, err := a.readAccess(token)
	if err != nil {
		return Who{}, signInNeeded(err.Error())
	}
	w, err := a.present(a.db.WithContext(ctx), c.Company, c.Subject, c.Device)
	if errors.Is(err, jobs.ErrNotFound) {
		return Who{}, signInNeeded("person or device is not known here")
	}
	return w, err
}

func (a *Accounts) readAccess(token string) (claims, error) {
	var c claims
	if len(token) > maxToken {
		return c, errors.New("access token is too long")
	}
	p := jwt.NewParser(
		jwt.WithValidMethods([]string{jwt.SigningMethodEdDSA.Alg()}),
		jwt.WithExpirationRequired(),
		jwt.WithAudience(audience),
		jwt.WithIssuer(a.issuer()),
		jwt.WithIssuedAt(),
		jwt.WithStrictDecoding(),
		jwt.WithTimeFunc(a.now),
	)
	if _, err := p.ParseWithClaims(token, &c, a.tokenKey); err != nil {
		return c, fmt.Errorf("access token: %w", err)
	}
	switch {
	case c.IssuedAt == nil, c.ID == "", c.Subject == "", c.Company == "", c.Device == "":
		return c, errors.New("access token lacks a claim")
	case c.ExpiresAt.Sub(c.IssuedAt.Time) > AccessLife:
		return c, errors.New("access token claims to live longer than any we give")
	}
	return c, nil
}

// tokenKey chooses the key by its id, among our own only: no header of a token may bring or name one.
func (a *Accounts) tokenKey(t *jwt.Token) (any, error) {
	if t.Header["typ"] != tokenType {
		return nil, errors.New("not an access token")
	}
	for _, h := range []string{"jwk", "jku", "x5u", "x5c", "crit"} {
		if _, there := t.Header[h]; there {
			return nil, fmt.Errorf("header %s is not accepted", h)
		}
	}
	for _, key := range []ed25519.PrivateKey{a.keys.Token, a.keys.Previous} {
		if key == nil {
			continue
		}
		if pub := key.Public().(ed25519.PublicKey); t.Header["kid"] == wire.KeyID(pub) {
			return pub, nil
		}
	}
	return nil, errors.New("signed with an unknown key")
}

// secret draws 256 bits as text.
func (a *Accounts) secret() (string, error) {
	b := make([]byte, 32)
	if _, err := io.ReadFull(a.rand, b); err != nil {
		return "", fmt.Errorf("draw a secret: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}
