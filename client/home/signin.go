package home

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tacet/sync/replica"
	"tacet/sync/wire"
)

// signIn is what a home keeps of a sign-in, in a file of its own that only its owner can read.
type signIn struct {
	Device  string    `json:"device"`
	Refresh string    `json:"refresh_token"`
	Access  string    `json:"access_token"`
	Until   time.Time `json:"until"` // of Access, by this device's clock
}

// early is how long before its end an access token is no longer used.
const early = 30 * time.Second

func (h *Home) signInPath() string { return filepath.Join(h.Dir, "sign-in.json") }

func (h *Home) readSignIn() (signIn, error) {
	var s signIn
	data, err := os.ReadFile(h.signInPath())
	if errors.Is(err, fs.ErrNotExist) {
		return s, replica.ErrSignIn
	}
	if err != nil {
		return s, fmt.Errorf("read the sign-in: %w", err)
	}
	if json.Unmarshal(data, &s) != nil || s.Device != h.Me.Device || s.Refresh == "" {
		return s, replica.ErrSignIn
	}
	return s, nil
}

func (h *Home) keepSignIn(device string, t wire.Tokens) error {
	until := time.Now().Add(time.Duration(t.ExpiresIn) * time.Second)
	data, err := json.Marshal(signIn{Device: device, Refresh: t.RefreshToken, Access: t.AccessToken, Until: until})
	if err != nil {
		return fmt.Errorf("keep the sign-in: %w", err)
	}
	return writeFile(h.signInPath(), append(data, '\n'))
}

// Transport is the way to this home's server. The sign-in is renewed as it goes. Several processes may do that at once:
// the server gives all of them the same next token.
func (h *Home) Transport() (*wire.HTTP, error) {
	if !h.Enrolled() {
		return nil, replica.ErrNotEnrolled
	}
	var t *wire.HTTP
	t, err := wire.NewHTTP(h.Me.Server, wire.KeyID(h.Me.ServerKey), func(ctx context.Context) (string, error) { return h.access(ctx, t) })
	return t, err
}

// access is a token that is still good for a while, refreshed where need be. One asks at a time.
func (h *Home) access(ctx context.Context, t *wire.HTTP) (string, error) {
	s, err := h.readSignIn()
	if err != nil {
		return "", err
	}
	if time.Now().Before(s.Until.Add(-early)) && s.Access != "" {
		return s.Access, nil
	}
	key, err := h.readKey(h.Me.Device)
	if err != nil {
		return "", err
	}
	next, err := t.Refresh(ctx, wire.RefreshRequest{RefreshToken: s.Refresh, Device: h.Me.Device, Key: key})
	if err != nil {
		return "", err
	}
	return next.AccessToken, h.keepSignIn(h.Me.Device, next)
}

// forgetAccess makes the next call renew the sign-in: the server no longer takes the token that was good a moment ago.
func (h *Home) forgetAccess() error {
	s, err := h.readSignIn()
	if err != nil {
		return err
	}
	return h.keepSignIn(s.Device, wire.Tokens{RefreshToken: s.Refresh})
}

// SignIn signs a person of the company in on this device. From then on it is they who record here.
func (h *Home) SignIn(ctx context.Context, login, password string) error {
	t, err := h.Transport()
	if err != nil {
		return err
	}
	key, err := h.readKey(h.Me.Device)
	if err != nil {
		return err
	}
	tokens, err := t.SignIn(ctx, wire.SignInRequest{Login: login, Password: password, Device: h.Me.Device, Key: key})
	if err != nil {
		return err
	}
	if err := h.keepSignIn(h.Me.Device, tokens); err != nil {
		return err
	}
	person, err := subject(tokens.AccessToken)
	if err != nil {
		return err
	}
	people, err := t.People(ctx)
	if err != nil {
		return err
	}
	return h.recordAs(ctx, person, login, people)
}

// recordAs makes the person who signed in the one who records.
func (h *Home) recordAs(ctx context.Context, person, login string, people []replica.Person) error {
	for _, p := range people {
		if p.ID != person {
			continue
		}
		err := h.Store.Write(ctx, h.Me.Company, func(tx replica.Tx) error {
			me, err := tx.Me()
			if err != nil {
				return err
			}
			me.Person, me.Role, me.Login = p.ID, p.Role, login
			h.Me = me
			if err := tx.PutPeople(people); err != nil {
				return err
			}
			return tx.PutMe(me)
		})
		return err
	}
	return fmt.Errorf("the person who signed in is not in the company's directory: %w", replica.ErrSignIn)
}

// subject reads whom an access token is for. Its signature is the server's affair; it came from the server whose key is
// pinned.
func subject(token string) (string, error) {
	parts := strings.Split(token, ".")
	if len(parts) != 3 {
		return "", fmt.Errorf("the server's token is not one: %w", replica.ErrSignIn)
	}
	data, err := base64.RawURLEncoding.DecodeString(parts[1])
	var c struct {
		Sub string `json:"sub"`
	}
	if err != nil || json.Unmarshal(data, &c) != nil || c.Sub == "" {
		return "", fmt.Errorf("the server's token names nobody: %w", replica.ErrSignIn)
	}
	return c.Sub, nil
}
