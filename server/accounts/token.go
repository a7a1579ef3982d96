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
	"gorm.io/gorm"

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
	Gen     int64  `json:"gen"` // number of the password that it was given for
}

func (a *Accounts) issuer() string { return "urn:uuid:" + a.Keys().Server }

// access signs an access token for a person on a device.
func (a *Accounts) access(w Who) (string, time.Time, error) {
	id, err := a.secret()
	if err != nil {
		return "", time.Time{}, err
	}
	now, keys := a.now(), a.Keys()
	until := now.Add(AccessLife)
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer: a.issuer(), Audience: jwt.ClaimStrings{audience}, Subject: w.Person, ID: id,
			IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(until),
		},
		Company: w.Company, Device: w.Device, Gen: w.gen,
	})
	t.Header["typ"] = tokenType
	t.Header["kid"] = wire.KeyID(keys.Token.Public().(ed25519.PublicKey))
	text, err := t.SignedString(keys.Token)
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
	var w Who
	err = a.read(ctx, c.Company, func(tx *gorm.DB) (err error) {
		w, err = a.present(tx, c.Company, c.Subject, c.Device)
		return err
	})
	switch {
	case errors.Is(err, jobs.ErrNotFound):
		return Who{}, signInNeeded("person or device is not known here")
	case err != nil:
		return Who{}, err
	case c.Gen != w.gen:
		return Who{}, signInNeeded("the password was changed since")
	}
	return w, nil
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
	case c.IssuedAt == nil, c.ID == "", c.Subject == "", c.Company == "", c.Company == everyone, c.Device == "":
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
	if pub := a.Keys().tokenKey(t.Header["kid"]); pub != nil {
		return pub, nil
	}
	// Another server on the same folder may have changed the keys a moment ago.
	if err := a.reloadSoon(); err != nil {
		return nil, err
	}
	if pub := a.Keys().tokenKey(t.Header["kid"]); pub != nil {
		return pub, nil
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
