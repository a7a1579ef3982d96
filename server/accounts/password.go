package accounts

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"

	"tacet/acoustics"
)

// Length of a password in characters. Twelve is what a sign-in with a slow-down needs when the password may be all there is, as on the
// pages in a browser; on an enrolled device its key is a second factor. There is no rule about which characters, because such rules
// make people choose worse; long phrases are welcome, and none is cut short.
const (
	MinPassword = 12
	MaxPassword = 128
)

// kdf is the least that is recommended for argon2id today: about 20 ms on a small server.
var kdf = &argon2id.Params{Memory: 19 << 10, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// hashesAtOnce bounds memory and processor time that strangers can ask for by signing in.
const hashesAtOnce = 4

// CheckPassword tells whether password may be set for login.
func CheckPassword(login, password string) error {
	bad := func(says, hint string) error {
		// The password itself never stands in a message.
		return &acoustics.InputError{Field: "password", Value: says, Range: fmt.Sprintf("%d to %d", MinPassword, MaxPassword), Unit: "characters", Hint: hint}
	}
	if !utf8.ValidString(password) || strings.ContainsRune(password, 0) {
		return bad("not plain text", "")
	}
	n := utf8.RuneCountInString(password)
	switch {
	case n < MinPassword:
		return bad(fmt.Sprintf("%d characters long", n), "three or four words make a good one")
	case n > MaxPassword:
		return bad(fmt.Sprintf("%d characters long", n), "")
	case n < LongPassword && strings.Contains(strings.ToLower(password), strings.ToLower(login)) && len(login) > 3:
		return bad("built on the login", "choose one that does not contain it")
	case distinct(password) < 5:
		return bad("made of fewer than five different characters", "three or four words make a good one")
	case common(password, login):
		return errCommon()
	}
	return nil
}

func errCommon() error {
	return &acoustics.InputError{Field: "password", Value: "one that is guessed early", Hint: "choose three or four words of your own that do not belong together"}
}

func distinct(s string) int {
	seen := map[rune]bool{}
	for _, r := range s {
		seen[r] = true
	}
	return len(seen)
}

func (a *Accounts) hash(ctx context.Context, password string) (string, error) {
	if err := a.takeTurn(ctx); err != nil {
		return "", err
	}
	defer a.endTurn()
	return argon2id.CreateHash(password, kdf)
}

// matches compares password with hash; an empty hash costs the same time and never matches, so that nobody can measure which logins exist.
func (a *Accounts) matches(ctx context.Context, password, hash string) (bool, error) {
	if utf8.RuneCountInString(password) > MaxPassword {
		password, hash = "", ""
	}
	if err := a.takeTurn(ctx); err != nil {
		return false, err
	}
	defer a.endTurn()
	if hash == "" {
		_, err := argon2id.ComparePasswordAndHash(password, a.nobody)
		return false, err
	}
	return argon2id.ComparePasswordAndHash(password, hash)
}

func (a *Accounts) takeTurn(ctx context.Context) error {
	select {
	case a.turns <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (a *Accounts) endTurn() { <-a.turns }
