package accounts_test

import (
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

func TestPasswordRule(t *testing.T) {
	// The lengths are our own rule (12 to 128 characters); that nothing is asked about kinds of characters is what guidance on
	// passwords has said for years.
	for _, c := range []struct {
		name, password string
		ok             bool
	}{
		{"three words", "slate gutter ninety", true},
		{"only small letters", "slategutterninety", true},
		{"twelve characters", "abtdefghzjkl", true},
		{"eleven characters", "abcdefghijk", false},
		{"characters, not bytes", "äöüßäöüßéèàç", true},
		{"128 characters", "slate gutter ninety kettle harbour otter tin roof wicker plum anchor saddle barrel fern copper ladle mirror quilt raven spade th", true},
		{"129 characters", strings.Repeat("abcdefgh", 16) + "i", false},
		{"short, and built on the login", "xx-M.Reed-xxy", false},
		{"long, and holds the login among other things", "kettle M.Reed harbour", true},
		{"one character", "aaaaaaaaaaaaaaaa", false},
		{"not text", "slate gutter \xff ninety", false},
		{"a NUL", "slate gutter \x00 ninety", false},
	} {
		err := accounts.CheckPassword("m.reed", c.password)
		if (err == nil) != c.ok {
			t.Errorf("%s: got %v", c.name, err)
		}
		if err != nil && strings.Contains(err.Error(), c.password) {
			t.Errorf("%s: the message shows the password", c.name)
		}
	}
}

func TestUsers(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		u := w.user("M.Reed", jobs.Site)
		if u.Login != "m.reed" || u.Name != "m.reed" {
			t.Errorf("login %q, name %q, want both in lower case", u.Login, u.Name)
		}
		other, err := w.AddCompany(t.Context(), "Another (invented)")
		wantErr(t, "add company", err, nil)
		for _, c := range []struct {
			field string
			u     accounts.User
			pw    string
		}{
			{"login", accounts.User{Company: w.co.ID, Login: "m.reed", Role: jobs.Site}, password},
			{"login", accounts.User{Company: other.ID, Login: "m.REED", Role: jobs.Site}, password},
			{"login", accounts.User{Company: w.co.ID, Login: "two words", Role: jobs.Site}, password},
			{"role", accounts.User{Company: w.co.ID, Login: "x", Role: "king"}, password},
			{"name", accounts.User{Company: w.co.ID, Login: "x", Role: jobs.Site, Name: "a\nb"}, password},
			{"password", accounts.User{Company: w.co.ID, Login: "x", Role: jobs.Site}, "short"},
		} {
			_, err := w.AddUser(t.Context(), c.u, c.pw)
			wantInput(t, "add "+c.u.Login, err, c.field)
		}
		_, err = w.AddUser(t.Context(), accounts.User{Company: "00000000-0000-7000-8000-000000000000", Login: "y", Role: jobs.Site}, password)
		wantErr(t, "add to no company", err, jobs.ErrNotFound)
		people, err := w.People(t.Context(), w.co.ID)
		wantErr(t, "people", err, nil)
		if len(people) != 1 || people[0].ID != u.Person || people[0].Role != jobs.Site {
			t.Errorf("people are %v", people)
		}
		if _, err := w.People(t.Context(), ""); err == nil {
			t.Error("the people of no company were listed")
		}
	})
}

func TestSignInSlowsDown(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, _ := w.enrolled("m.reed", jobs.Site)
		for range 5 {
			_, err := d.signIn("m.reed", "wrong wrong wrong")
			wantErr(t, "wrong password", err, replica.ErrSignIn)
		}
		_, err := d.signIn("m.reed", password)
		wantErr(t, "right password while waiting", err, replica.ErrSlowDown)
		var ref *replica.Refusal
		if !errors.As(err, &ref) || ref.RetryAfter <= 0 || ref.RetryAfter > 2*time.Second {
			t.Errorf("after five failures the wait is %v, want at most 2 s (arithmetic: the first wait)", ref)
		}
		// A browser somewhere is another matter: guesses on a device don't keep the person out there, nor the other way round.
		_, _, err = w.SignInBrowser(t.Context(), "m.reed", password, "", "192.0.2.8")
		wantErr(t, "browser", err, nil)

		// Waiting was not counted, so the wait is over when it said so.
		w.wait(ref.RetryAfter)
		_, err = d.signIn("m.reed", password)
		wantErr(t, "right password after the wait", err, nil)

		// How many guesses a day? Always as soon as it is allowed.
		guesses := 0
		for start := w.clock(); w.clock().Sub(start) < 24*time.Hour; {
			_, err := d.signIn("m.reed", "wrong wrong wrong")
			if errors.As(err, &ref) && errors.Is(err, replica.ErrSlowDown) {
				w.wait(max(ref.RetryAfter, time.Millisecond))
				continue
			}
			wantErr(t, "guess", err, replica.ErrSignIn)
			guesses++
		}
		if guesses > 100 { // at most 100 a day is our own figure
			t.Errorf("%d guesses in a day", guesses)
		}
		w.wait(20 * time.Minute)
		_, err = d.signIn("m.reed", password)
		wantErr(t, "right password after a day of guesses", err, nil)
	})
}

func TestGuessesAtOnceAreCountedOneByOne(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	d, _ := w.enrolled("m.reed", jobs.Site)
	var mu sync.Mutex
	var tried int
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() {
			if _, err := d.signIn("m.reed", "wrong wrong wrong"); errors.Is(err, replica.ErrSignIn) {
				mu.Lock()
				tried++
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if tried > 5 {
		t.Errorf("%d guesses were compared at once, want at most 5", tried)
	}
}

func TestAddressSlowsDown(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	w.user("m.reed", jobs.Supervisor)
	try := func(i int, address string) error {
		login := "nobody-" + string(rune('a'+i%26)) + string(rune('a'+i/26))
		_, _, err := w.SignInBrowser(t.Context(), login, "wrong wrong wrong", "", address)
		return err
	}
	for i := range 50 {
		wantErr(t, "unknown login", try(i, "2001:db8::1"), replica.ErrSignIn)
	}
	wantErr(t, "one more from the same network", try(50, "2001:db8::2"), replica.ErrSlowDown)
	_, _, err := w.SignInBrowser(t.Context(), "m.reed", password, "", "203.0.113.9")
	wantErr(t, "right password from elsewhere", err, nil)
	w.wait(2 * time.Second)
	_, _, err = w.SignInBrowser(t.Context(), "m.reed", password, "", "2001:db8::1")
	wantErr(t, "right password after the wait", err, nil)
}

func TestWrongSignInsLookAlike(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	d, _ := w.enrolled("m.reed", jobs.Site)
	w.user("gone", jobs.Site)
	wantErr(t, "end user", w.EndUser(t.Context(), "gone"), nil)
	_, wrong := d.signIn("m.reed", "wrong wrong wrong")
	for name, login := range map[string]string{"unknown": "nobody", "not a login": "two words", "ended": "gone"} {
		_, err := d.signIn(login, password)
		if err == nil || err.Error() != wrong.Error() {
			t.Errorf("%s login says %v, a wrong password %v", name, err, wrong)
		}
	}
	// A login of another company on this company's device.
	other, err := w.AddCompany(t.Context(), "Another (invented)")
	wantErr(t, "add company", err, nil)
	_, err = w.AddUser(t.Context(), accounts.User{Company: other.ID, Login: "stranger", Role: jobs.Owner}, password)
	wantErr(t, "add user", err, nil)
	_, err = d.signIn("stranger", password)
	if err == nil || err.Error() != wrong.Error() {
		t.Errorf("another company's login says %v", err)
	}
}

func TestBrowser(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		u := w.user("s.marsh", jobs.Supervisor)
		cookie, _, err := w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "sign in", err, nil)
		who, err := w.Browser(t.Context(), cookie)
		wantErr(t, "cookie", err, nil)
		if who.Person != u.Person || who.Role != jobs.Supervisor || who.Company != w.co.ID {
			t.Errorf("the cookie is %+v", who)
		}
		for name, bad := range map[string]string{"empty": "", "changed": cookie + "A", "no company": "." + strings.SplitN(cookie, ".", 2)[1], "long": strings.Repeat("a.", 9999)} {
			_, err := w.Browser(t.Context(), bad)
			wantErr(t, name, err, replica.ErrSignIn)
		}
		w.wait(11 * time.Hour)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "after 11 h", err, nil)
		w.wait(11 * time.Hour)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "11 h later", err, nil)
		w.wait(13 * time.Hour)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "unused for 13 h", err, replica.ErrSignIn)

		cookie, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "sign in again", err, nil)
		for range 15 {
			w.wait(11 * time.Hour)
			_, err = w.Browser(t.Context(), cookie)
		}
		wantErr(t, "used every 11 h for 165 h", err, nil)
		w.wait(4 * time.Hour)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "after 169 h, more than a week", err, replica.ErrSignIn)

		cookie, _, err = w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "sign in again", err, nil)
		wantErr(t, "end user", w.EndUser(t.Context(), "s.marsh"), nil)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "cookie of a user whose access has ended", err, replica.ErrSignIn)
	})
}

func TestSignOut(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	w.user("s.marsh", jobs.Supervisor)
	cookie, _, err := w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
	wantErr(t, "sign in", err, nil)
	wantErr(t, "sign out", w.SignOutBrowser(t.Context(), cookie), nil)
	_, err = w.Browser(t.Context(), cookie)
	wantErr(t, "cookie after signing out", err, replica.ErrSignIn)
}

func TestSetPassword(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, g := w.enrolled("s.marsh", jobs.Supervisor)
		cookie, _, err := w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "sign in", err, nil)
		wantInput(t, "a short one", w.SetPassword(t.Context(), "s.marsh", "short"), "password")
		const other = "copper lintel forty"
		wantErr(t, "set password", w.SetPassword(t.Context(), "s.marsh", other), nil)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "the browser of before", err, replica.ErrSignIn)
		_, err = d.refresh(g.Refresh)
		wantErr(t, "the device of before", err, replica.ErrSignIn)
		_, err = d.signIn("s.marsh", password)
		wantErr(t, "the password of before", err, replica.ErrSignIn)
		_, err = d.signIn("s.marsh", other)
		wantErr(t, "the new password", err, nil)
		wantErr(t, "nobody's password", w.SetPassword(t.Context(), "nobody", other), jobs.ErrNotFound)
	})
}

func TestTidyKeepsWhatStillCounts(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, first := w.enrolled("s.marsh", jobs.Supervisor)
		cookie, _, err := w.SignInBrowser(t.Context(), "s.marsh", password, "", "192.0.2.8")
		wantErr(t, "sign in", err, nil)
		second, err := d.refresh(first.Refresh)
		wantErr(t, "refresh", err, nil)
		for range 5 {
			_, err = d.signIn("s.marsh", "wrong wrong wrong")
			wantErr(t, "wrong password", err, replica.ErrSignIn)
		}
		wantErr(t, "tidy", w.Tidy(t.Context()), nil)
		_, err = d.signIn("s.marsh", password)
		wantErr(t, "the slow-down after tidying", err, replica.ErrSlowDown)
		_, err = w.Browser(t.Context(), cookie)
		wantErr(t, "the browser after tidying", err, nil)
		w.wait(2 * time.Minute)
		wantErr(t, "tidy", w.Tidy(t.Context()), nil)
		_, err = d.refresh(first.Refresh)
		wantErr(t, "a used token after tidying", err, replica.ErrSignIn)
		_, err = d.refresh(second.Refresh)
		wantErr(t, "its family", err, replica.ErrSignIn)

		w.wait(accounts.RefreshIdle)
		wantErr(t, "tidy", w.Tidy(t.Context()), nil)
		for _, table := range []string{"account_refresh", "account_browser", "account_code", "account_attempt"} {
			var n int64
			if err := w.store.DB().Table(table).Count(&n).Error; err != nil || n != 0 {
				t.Errorf("%s keeps %d rows after a month, %v", table, n, err)
			}
		}
	})
}
