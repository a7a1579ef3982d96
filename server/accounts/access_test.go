package accounts_test

import (
	"encoding/base32"
	"errors"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

func TestPasswordsThatAreGuessedEarly(t *testing.T) {
	// Patterns of our own making; no list of leaked passwords was copied.
	for _, p := range []string{"passwordpassword", "Password123456!", "P@ssw0rd2026!!", "qwertyuiop123", "1q2w3e4r5t6y", "abcdefghijkl", "123456789012", "Summer2026!!!!",
		"letmein-letmein", "IloveYou2025!!", "asdfghjkl;123", "insulation2026", "abcabcabcabc", "qazwsxedcrfv", "m.reed-m.reed!", "Administrator1!", "987654321098", "welcome.home.1!"[:13]} {
		if err := accounts.CheckPassword("m.reed", p); err == nil {
			t.Errorf("%q is taken", p)
		} else if strings.Contains(err.Error(), p) {
			t.Errorf("the message shows %q", p)
		}
	}
	for _, p := range []string{"slate gutter ninety", "correct horse battery staple", "viermal so breit wie hoch", "tin-roof-otter-19", "Zq7#mmKp2vLx", "日本語のとても長い合言葉です"} {
		if err := accounts.CheckPassword("m.reed", p); err != nil {
			t.Errorf("%q: %v", p, err)
		}
	}
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	_, err := w.AddUser(t.Context(), accounts.User{Company: w.co.ID, Login: "p.stone", Name: "Petra Stone", Role: jobs.Site}, "petra.stone.26")
	wantInput(t, "a password of the firm's and the person's name", err, "password")
}

func TestSetUp(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		_, err := w.SetUpCode(t.Context())
		wantErr(t, "a code for a server that has a company", err, jobs.ErrRefused)
	})
	t.Run("fresh", func(t *testing.T) {
		keys, err := accounts.LoadKeys(filepath.Join(t.TempDir(), "keys"))
		wantErr(t, "keys", err, nil)
		w := newWorldWithout(t, keys)
		code, err := w.SetUpCode(t.Context())
		wantErr(t, "code", err, nil)
		owner := accounts.User{Login: "an.owner"}
		_, err = w.SetUp(t.Context(), "0000-0000-0000-0000", "Firm (invented)", owner, password, "")
		wantInput(t, "a wrong code", err, "code")
		_, err = w.SetUp(t.Context(), code, "Firm (invented)", owner, "short", "")
		wantInput(t, "a bad password spends nothing", err, "password")
		w.wait(accounts.SetUpLife)
		_, err = w.SetUp(t.Context(), code, "Firm (invented)", owner, password, "")
		wantInput(t, "an old code", err, "code")
		code, err = w.SetUpCode(t.Context())
		wantErr(t, "another code", err, nil)
		var all sync.WaitGroup
		won := make(chan error, 5)
		for i := range 5 {
			all.Go(func() {
				_, err := w.SetUp(t.Context(), code, "Firm (invented)", accounts.User{Login: "owner" + string(rune('a'+i))}, password, "")
				won <- err
			})
		}
		all.Wait()
		close(won)
		n := 0
		for err := range won {
			if err == nil {
				n++
			}
		}
		cos, err := w.Companies(t.Context())
		if err != nil || len(cos) != 1 || n != 1 {
			t.Errorf("of five at once %d set the server up; companies: %v, %v", n, cos, err)
		}
		_, err = w.SetUp(t.Context(), code, "Firm (invented)", owner, password, "")
		if err == nil {
			t.Error("a code worked twice")
		}
	})
}

// The codes are those of RFC 6238: its appendix B has a test vector for 2009-02-13 23:31:30 UTC, whose last six digits for SHA-1 are 005924.
func TestSecondFactor(t *testing.T) {
	got, err := totp.GenerateCode(base32.StdEncoding.EncodeToString([]byte("12345678901234567890")), time.Unix(1234567890, 0))
	if err != nil || got != "005924" {
		t.Fatalf("the vector of RFC 6238 gives %s, %v", got, err)
	}
	each(t, func(t *testing.T, w *world) {
		u := w.user("s.marsh", jobs.Supervisor)
		who := accounts.Who{Company: w.co.ID, Person: u.Person, Login: u.Login, Role: u.Role}
		cookie, _, err := w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "before there is one", err, nil)
		f, err := w.BeginFactor(t.Context(), who)
		wantErr(t, "begin", err, nil)
		again, err := w.BeginFactor(t.Context(), who)
		if err != nil || again.Secret != f.Secret {
			t.Errorf("opening the page twice makes another secret: %v", err)
		}
		if !strings.HasPrefix(f.URL, "otpauth://totp/") {
			t.Errorf("the picture says %s", f.URL)
		}
		code := func() string {
			c, err := totp.GenerateCode(f.Secret, w.clock())
			wantErr(t, "code", err, nil)
			return c
		}
		_, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "begun and not confirmed", err, nil)
		wantInput(t, "a wrong first code", w.ConfirmFactor(t.Context(), who, "000000", cookie, "192.0.2.8"), "code")
		w.wait(time.Minute)
		first := code()
		wantErr(t, "confirm", w.ConfirmFactor(t.Context(), who, first, cookie, "192.0.2.8"), nil)
		_, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, first, "192.0.2.8")
		wantErr(t, "the code that confirmed it, again", err, replica.ErrSignIn)
		_, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "without a code", err, replica.ErrSignIn)
		w.wait(time.Minute)
		_, _, err = w.SignInBrowser(t.Context(), "s.marsh", "wrong wrong wrong", code(), "192.0.2.8")
		wantErr(t, "wrong password and right code", err, replica.ErrSignIn)
		_, now, err := w.SignInBrowser(t.Context(), "s.marsh", password, code(), "192.0.2.8")
		wantErr(t, "with both", err, nil)
		if !now.Factor {
			t.Error("the server does not know that it asked")
		}
		_, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, code(), "192.0.2.8")
		wantErr(t, "the same code again", err, replica.ErrSignIn)
		w.wait(time.Minute)
		old := code()
		w.wait(2 * time.Minute)
		_, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, old, "192.0.2.8")
		wantErr(t, "a code of two minutes ago", err, replica.ErrSignIn)

		// A hundred thousand guesses a second would find six digits in seconds; the slow-down leaves about 90 a day.
		slowed := false
		for range 10 {
			_, _, err := w.SignInBrowser(t.Context(), "s.marsh", password, "123456", "192.0.2.8")
			slowed = slowed || errors.Is(err, replica.ErrSlowDown)
		}
		if !slowed {
			t.Error("codes can be guessed without end")
		}

		var sealed [][]byte
		if err := w.store.DB().Raw("SELECT sealed FROM account_factor").Scan(&sealed).Error; err != nil || len(sealed) != 1 || strings.Contains(string(sealed[0]), f.Secret) {
			t.Errorf("the database holds the secret as it is (%d rows, %v)", len(sealed), err)
		}

		wantErr(t, "recovery", w.DropFactor(t.Context(), "s.marsh"), nil)
		w.wait(25 * time.Hour)
		_, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "after it was taken off", err, nil)
	})
}

func TestPin(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, g := w.enrolled("m.reed", jobs.Site)
		who, err := w.Authenticate(t.Context(), g.Access)
		wantErr(t, "who", err, nil)
		for _, bad := range []string{"", "12345", "123456", "111111", "121212", "654321", "abcdef", "1234567890123", "48151６"} {
			wantInput(t, "pin "+bad, w.SetPin(t.Context(), who, bad), "pin")
		}
		sign := func(d tablet, login, pin string) error {
			_, err := d.w.SignInPin(t.Context(), login, pin, d.id, d.prove(wire.SignInRequest{Login: login, Device: d.id}.Signed), "192.0.2.7")
			return err
		}
		wantErr(t, "before there is one", sign(d, "m.reed", "481516"), replica.ErrSignIn)
		wantErr(t, "set", w.SetPin(t.Context(), who, "481516"), nil)
		wantErr(t, "right", sign(d, "m.reed", "481516"), nil)
		other, _ := w.enrolled("p.stone", jobs.Site)
		wantErr(t, "on another device", sign(other, "m.reed", "481516"), replica.ErrSignIn)
		forged := d
		forged.key = other.key
		wantErr(t, "without the device's key", sign(forged, "m.reed", "481516"), replica.ErrSignIn)
		for range accounts.PinTries {
			wantErr(t, "wrong", sign(d, "m.reed", "481517"), replica.ErrSignIn)
		}
		wantErr(t, "right after ten wrong ones", sign(d, "m.reed", "481516"), replica.ErrSignIn)
		_, err = d.signIn("m.reed", password)
		wantErr(t, "the password", err, nil)
		wantErr(t, "set anew", w.SetPin(t.Context(), who, "481516"), nil)
		wantErr(t, "right again", sign(d, "m.reed", "481516"), nil)
		wantErr(t, "new password", w.SetPassword(t.Context(), "m.reed", "another slate gutter"), nil)
		wantErr(t, "the PIN after a new password", sign(d, "m.reed", "481516"), replica.ErrSignIn)
	})
}

func TestNewPasswordEndsEverything(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, g := w.enrolled("m.reed", jobs.Site)
		cookie, _, err := w.SignInBrowser(t.Context(), "m.reed", password, "", "192.0.2.8")
		wantErr(t, "browser", err, nil)
		who := accounts.Who{Company: w.co.ID, Person: g.Person, Login: "m.reed"}
		wantErr(t, "confirm with a wrong one", w.Confirm(t.Context(), who, "wrong wrong wrong", ""), replica.ErrSignIn)
		_, err = w.Authenticate(t.Context(), g.Access)
		wantErr(t, "nothing changed", err, nil)
		wantErr(t, "confirm", w.Confirm(t.Context(), who, password, ""), nil)
		wantErr(t, "change", w.SetPassword(t.Context(), "m.reed", "another slate gutter"), nil)
		_, err = w.Authenticate(t.Context(), g.Access)
		wantErr(t, "access token", err, replica.ErrSignIn)
		_, err = d.refresh(g.Refresh)
		wantErr(t, "refresh token", err, replica.ErrSignIn)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "browser", err, replica.ErrSignIn)
		g, err = d.signIn("m.reed", "another slate gutter")
		wantErr(t, "the new one", err, nil)
		_, err = w.Authenticate(t.Context(), g.Access)
		wantErr(t, "its token", err, nil)
	})
}

func TestRotateKeys(t *testing.T) {
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	d, g := w.enrolled("m.reed", jobs.Site)
	keys, err := accounts.LoadKeys(w.keyDir)
	wantErr(t, "keys", err, nil)
	other, err := accounts.New(accounts.Config{DB: w.store.DB(), Record: w.store, Keys: keys, Now: w.clock})
	wantErr(t, "a second server", err, nil)
	wantErr(t, "rotate", accounts.RotateKeys(w.keyDir), nil)
	wantErr(t, "reload", other.Reload(), nil)
	_, err = other.Authenticate(t.Context(), g.Access)
	wantErr(t, "a token of the key before", err, nil)
	proof := d.prove(wire.RefreshRequest{RefreshToken: g.Refresh, Device: d.id}.Signed)
	next, err := other.Refresh(t.Context(), g.Refresh, proof)
	wantErr(t, "refresh at the server with the new key", err, nil)
	_, err = w.Authenticate(t.Context(), next.Access)
	wantErr(t, "a token of the new key at the server that had not read it yet", err, nil)
	again, err := w.Refresh(t.Context(), g.Refresh, proof)
	if err != nil || again.Refresh != next.Refresh {
		t.Errorf("a lost answer across the change: %v", err)
	}
	wantErr(t, "rotate again", accounts.RotateKeys(w.keyDir), nil)
	wantErr(t, "reload", w.Reload(), nil)
	_, err = w.Authenticate(t.Context(), g.Access)
	wantErr(t, "a token of two keys before", err, replica.ErrSignIn)
	_, err = w.Authenticate(t.Context(), next.Access)
	wantErr(t, "a token of the key before", err, nil)
}

func TestGuests(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		u := w.user("s.marsh", jobs.Supervisor)
		who := accounts.Who{Company: w.co.ID, Person: u.Person}
		_, err := w.AddGuest(t.Context(), who, "job", "client", time.Minute)
		wantInput(t, "a minute", err, "days")
		_, err = w.AddGuest(t.Context(), who, "job", "", time.Hour)
		wantInput(t, "for nobody", err, "name")
		secret, err := w.AddGuest(t.Context(), who, "job", "client", time.Hour)
		wantErr(t, "add", err, nil)
		in, err := w.Guest(t.Context(), secret)
		if err != nil || in.Guest.Job != "job" || in.Company != w.co.ID {
			t.Errorf("the link opens %+v, %v", in, err)
		}
		for _, bad := range []string{"", "x", secret + "x", w.co.ID + ".", "*." + strings.SplitN(secret, ".", 2)[1], strings.Repeat("x", 300)} {
			_, err := w.Guest(t.Context(), bad)
			wantErr(t, "link "+bad, err, replica.ErrSignIn)
		}
		w.wait(time.Hour)
		_, err = w.Guest(t.Context(), secret)
		wantErr(t, "after its time", err, replica.ErrSignIn)
		secret, err = w.AddGuest(t.Context(), who, "job", "client", time.Hour)
		wantErr(t, "add", err, nil)
		list, err := w.Accounts.Guests(t.Context(), w.co.ID)
		if err != nil || len(list) != 2 || list[0].Ended || !list[1].Ended || list[1].Seen.IsZero() {
			t.Errorf("links are %+v, %v", list, err)
		}
		wantErr(t, "end", w.EndGuest(t.Context(), w.co.ID, list[0].ID), nil)
		_, err = w.Guest(t.Context(), secret)
		wantErr(t, "after it was ended", err, replica.ErrSignIn)
	})
}

func TestTheLastOwnerStays(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		u := w.user("an.owner", jobs.Owner)
		var rule *jobs.RuleError
		if err := w.EndUser(t.Context(), "an.owner"); !errors.As(err, &rule) {
			t.Errorf("the only owner's access ends: %v", err)
		}
		if err := w.SetRole(t.Context(), w.co.ID, u.Person, jobs.Site); !errors.As(err, &rule) {
			t.Errorf("the only owner becomes another: %v", err)
		}
		w.user("b.owner", jobs.Owner)
		wantErr(t, "with another one", w.SetRole(t.Context(), w.co.ID, u.Person, jobs.Office), nil)
		got, err := w.User(t.Context(), w.co.ID, u.Person)
		if err != nil || got.Role != jobs.Office {
			t.Errorf("the role is %s, %v", got.Role, err)
		}
		wantErr(t, "end", w.EndUser(t.Context(), "an.owner"), nil)
		wantErr(t, "give back", w.Reinstate(t.Context(), "an.owner"), nil)
		_, _, err = w.SignInBrowser(t.Context(), "an.owner", password, "", "")
		wantErr(t, "sign in", err, nil)
	})
}
