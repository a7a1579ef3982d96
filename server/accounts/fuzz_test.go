package accounts

import (
	"crypto/ed25519"
	"strings"
	"testing"
	"time"
)

func FuzzReadLogin(f *testing.F) {
	for _, s := range []string{"m.reed", " M.REED ", "", "a\x00b", "\xff", strings.Repeat("x", 100)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		l, err := readLogin(s)
		if err != nil {
			return
		}
		if again, err := readLogin(l); err != nil || again != l || len(l) > 64 {
			t.Errorf("%q was read as %q, then %q, %v", s, l, again, err)
		}
	})
}

// No bytes but a token that the server signed are one.
func FuzzReadAccess(f *testing.F) {
	key := ed25519.NewKeyFromSeed(make([]byte, 32))
	a := &Accounts{now: func() time.Time { return time.UnixMilli(1_800_000_000_000) }, rand: strings.NewReader(strings.Repeat("x", 32))}
	a.held.Store(&Keys{Server: "018f0000-0000-7000-8000-00000000e001", Token: key})
	good, _, err := a.access(Who{Company: "c", Person: "p", Device: "d"})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good)
	f.Add("eyJhbGciOiJub25lIn0.e30.")
	f.Add("..")
	f.Fuzz(func(t *testing.T, s string) {
		if c, err := a.readAccess(s); err == nil && s != good {
			t.Errorf("%q was taken as %+v", s, c)
		}
	})
}

func FuzzCheckPassword(f *testing.F) {
	f.Add("m.reed", "slate gutter ninety")
	f.Add("", "\xff\xfe")
	f.Fuzz(func(t *testing.T, login, password string) {
		if err := CheckPassword(login, password); err != nil && len(password) > 11 && strings.Contains(err.Error(), password) {
			t.Errorf("the message shows the password: %v", err)
		}
	})
}
