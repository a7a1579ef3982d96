package accounts_test

import (
	"bytes"
	"crypto/ed25519"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

func TestEnrol(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		u := w.user("m.reed", jobs.Site)
		code, err := w.EnrolCode(t.Context(), "M.Reed", accounts.CodeLife)
		wantErr(t, "code", err, nil)
		if len(strings.ReplaceAll(code, "-", "")) != 16 { // arithmetic: 80 bits of 5 each
			t.Errorf("code %s", code)
		}
		typed := strings.ToLower(strings.NewReplacer("-", " ", "0", "O", "1", "l").Replace(code))
		d := w.tablet()
		g, err := d.enrol(typed)
		wantErr(t, "enrol", err, nil)
		if g.Person != u.Person || g.Role != jobs.Site || g.Device != d.id || g.Company != w.co.ID {
			t.Errorf("granted %+v", g.Who)
		}
		who, err := w.Authenticate(t.Context(), g.Access)
		wantErr(t, "access token", err, nil)
		if who.Person != u.Person || who.Device != d.id || !bytes.Equal(who.Key, w.device(d.id).Key) {
			t.Errorf("the token is %+v", who)
		}
		// The answer got lost: the same device may ask again. For another the code is spent.
		_, err = d.enrol(code)
		wantErr(t, "enrol again", err, nil)
		_, err = w.tablet().enrol(code)
		wantInput(t, "another device", err, "code")

		code, err = w.EnrolCode(t.Context(), "m.reed", accounts.CodeLife)
		wantErr(t, "code", err, nil)
		_, err = d.enrol(code)
		wantInput(t, "the same device by another code", err, "device")
		w.wait(accounts.CodeLife)
		_, err = w.tablet().enrol(code)
		wantInput(t, "a code that is too old", err, "code")
		for _, bad := range []string{"", "7Q2M", "U" + code[1:], "0000-0000-0000-0000", strings.Repeat("0", 9999)} {
			_, err = w.tablet().enrol(bad)
			wantInput(t, "code "+bad[:min(9, len(bad))], err, "code")
		}
		_, err = w.EnrolCode(t.Context(), "nobody", accounts.CodeLife)
		wantErr(t, "code for nobody", err, jobs.ErrNotFound)
		_, err = w.EnrolCode(t.Context(), "m.reed", time.Second)
		wantInput(t, "code for a second", err, "valid")
	})
}

func TestEnrolNeedsTheKey(t *testing.T) {
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	w.user("m.reed", jobs.Site)
	code, err := w.EnrolCode(t.Context(), "m.reed", accounts.CodeLife)
	wantErr(t, "code", err, nil)
	d, thief := w.tablet(), w.tablet()
	d.key = append(d.key[:32:32], thief.key[32:]...) // says another's public key is its own
	_, err = d.enrol(code)
	wantErr(t, "enrol with another's public key", err, replica.ErrSignIn)
	late := w.tablet()
	proof := late.prove(wire.EnrolRequest{Code: code, Device: late.id}.Signed)
	w.wait(3 * time.Minute)
	_, err = w.Enrol(t.Context(), code, accounts.NewDevice{ID: late.id, Key: ed25519.PublicKey(late.key[32:]), Proof: proof}, "192.0.2.7")
	wantErr(t, "enrol with an old signature", err, replica.ErrSignIn)
}

func TestCodeIsSpentOnce(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		w.user("m.reed", jobs.Site)
		code, err := w.EnrolCode(t.Context(), "m.reed", accounts.CodeLife)
		wantErr(t, "code", err, nil)
		tablets := make([]tablet, 6)
		for i := range tablets {
			tablets[i] = w.tablet()
		}
		won := make([]bool, len(tablets))
		var all sync.WaitGroup
		for i, d := range tablets {
			all.Go(func() {
				_, err := d.enrol(code)
				won[i] = err == nil
			})
		}
		all.Wait()
		n := 0
		for _, ok := range won {
			if ok {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%d devices enrolled by one code", n)
		}
	})
}

func TestRefresh(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, first := w.enrolled("m.reed", jobs.Site)
		second, err := d.refresh(first.Refresh)
		wantErr(t, "refresh", err, nil)
		if second.Refresh == first.Refresh || second.Access == first.Access {
			t.Error("the tokens did not change")
		}

		// The answer got lost: within a minute the same device gets the same successor, and with another key nobody does.
		w.wait(59 * time.Second)
		again, err := d.refresh(first.Refresh)
		wantErr(t, "retry", err, nil)
		if again.Refresh != second.Refresh {
			t.Error("a retry got another successor")
		}
		_, err = w.Authenticate(t.Context(), again.Access)
		wantErr(t, "access token of the retry", err, nil)
		third, err := d.refresh(second.Refresh)
		wantErr(t, "next refresh", err, nil)

		// Reuse after the minute ends the family, the newest token included.
		w.wait(2 * time.Second)
		_, err = d.refresh(first.Refresh)
		wantErr(t, "reuse", err, replica.ErrSignIn)
		_, err = d.refresh(third.Refresh)
		wantErr(t, "the newest token after reuse", err, replica.ErrSignIn)

		// Signing in opens a new family.
		g, err := d.signIn("m.reed", password)
		wantErr(t, "sign in", err, nil)
		_, err = d.refresh(g.Refresh)
		wantErr(t, "refresh of the new family", err, nil)
	})
}

func TestRefreshIsBoundToTheDevice(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, first := w.enrolled("m.reed", jobs.Site)
		thief := w.tablet()
		thief.id = d.id
		_, err := thief.refresh(first.Refresh)
		wantErr(t, "a stolen token without the key", err, replica.ErrSignIn)
		second, err := d.refresh(first.Refresh)
		wantErr(t, "the honest device afterwards", err, nil)
		// A used token in other hands is reuse, even within the minute.
		_, err = thief.refresh(first.Refresh)
		wantErr(t, "a stolen used token", err, replica.ErrSignIn)
		_, err = d.refresh(second.Refresh)
		wantErr(t, "the family after that", err, replica.ErrSignIn)
	})
}

func TestRefreshEnds(t *testing.T) {
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	d, g := w.enrolled("m.reed", jobs.Site)
	w.wait(accounts.RefreshIdle)
	_, err := d.refresh(g.Refresh)
	wantErr(t, "unused for 30 days", err, replica.ErrSignIn)

	g, err = d.signIn("m.reed", password)
	wantErr(t, "sign in", err, nil)
	for range 4 { // 4 x 20 days are less than 90
		w.wait(20 * 24 * time.Hour)
		g, err = d.refresh(g.Refresh)
		wantErr(t, "every 20 days", err, nil)
	}
	w.wait(11 * 24 * time.Hour) // 91 days
	_, err = d.refresh(g.Refresh)
	wantErr(t, "after 91 days of use", err, replica.ErrSignIn)

	for _, bad := range []string{"", "x", "." + g.Refresh, w.co.ID + ".", w.co.ID + ".AAAA", g.Access, strings.Repeat("a.", 9999)} {
		_, err := d.refresh(bad)
		wantErr(t, "refresh with "+bad[:min(8, len(bad))], err, replica.ErrSignIn)
	}
}

func TestRefreshAtOnce(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, g := w.enrolled("m.reed", jobs.Site)
		got := make([]string, 20)
		var all sync.WaitGroup
		for i := range got {
			all.Go(func() {
				if g, err := d.refresh(g.Refresh); err == nil {
					got[i] = g.Refresh
				} else {
					t.Error(err)
				}
			})
		}
		all.Wait()
		for _, s := range got {
			if s != got[0] {
				t.Fatal("twenty refreshes at once gave different successors")
			}
		}
		_, err := d.refresh(got[0])
		wantErr(t, "the successor", err, nil)
	})
}

func TestRevoke(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, g := w.enrolled("m.reed", jobs.Site)
		wantErr(t, "revoke", w.Revoke(t.Context(), d.id), nil)
		wantErr(t, "revoke again", w.Revoke(t.Context(), d.id), nil)
		_, err := w.Authenticate(t.Context(), g.Access)
		wantErr(t, "access token", err, replica.ErrRevoked)
		_, err = d.refresh(g.Refresh)
		wantErr(t, "refresh", err, replica.ErrRevoked)
		_, err = d.signIn("m.reed", password)
		wantErr(t, "sign in", err, replica.ErrRevoked)
		if w.device(d.id).Revoked == 0 {
			t.Error("the record does not know that the device is revoked")
		}
		list, err := w.Devices(t.Context())
		wantErr(t, "list", err, nil)
		if len(list) != 1 || list[0].State != "revoked" || list[0].Login != "m.reed" {
			t.Errorf("devices are %+v", list)
		}
		wantErr(t, "revoke nothing", w.Revoke(t.Context(), "nothing"), jobs.ErrNotFound)
	})
}

func TestRoleIsReadEachTime(t *testing.T) {
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	_, g := w.enrolled("m.reed", jobs.Site)
	// As a later command may do it; the token says nothing about the role.
	if err := w.store.DB().Exec("UPDATE account_user SET role = 'supervisor' WHERE login = 'm.reed'").Error; err != nil {
		t.Fatal(err)
	}
	who, err := w.Authenticate(t.Context(), g.Access)
	wantErr(t, "access token", err, nil)
	if who.Role != jobs.Supervisor {
		t.Errorf("role is %s", who.Role)
	}
	wantErr(t, "end user", w.EndUser(t.Context(), "m.reed"), nil)
	_, err = w.Authenticate(t.Context(), g.Access)
	wantErr(t, "token of a user whose access has ended", err, replica.ErrSignIn)
}

func TestSharedTablet(t *testing.T) {
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	d, _ := w.enrolled("m.reed", jobs.Site)
	w.user("s.marsh", jobs.Supervisor)
	g, err := d.signIn("s.marsh", password)
	wantErr(t, "sign in", err, nil)
	if g.Role != jobs.Supervisor || g.Device != d.id {
		t.Errorf("granted %+v", g.Who)
	}
	holders, err := w.Holders(t.Context(), w.co.ID, d.id)
	wantErr(t, "holders", err, nil)
	if len(holders) != 2 || holders[0].Login != "m.reed" || holders[1].Login != "s.marsh" {
		t.Errorf("holders are %+v", holders)
	}
}

func TestNothingIsStoredThatOpensADoor(t *testing.T) {
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	w.user("m.reed", jobs.Site)
	code, err := w.EnrolCode(t.Context(), "m.reed", accounts.CodeLife)
	wantErr(t, "code", err, nil)
	g, err := w.tablet().enrol(code)
	wantErr(t, "enrol", err, nil)
	cookie, _, err := w.SignInBrowser(t.Context(), "m.reed", password, "", "192.0.2.8")
	wantErr(t, "browser", err, nil)
	dump := dumpTables(t, w.store.DB())
	_, refresh, _ := strings.Cut(g.Refresh, ".")
	_, browser, _ := strings.Cut(cookie, ".")
	for what, secret := range map[string]string{"password": password, "code": strings.ReplaceAll(code, "-", ""), "refresh token": refresh, "cookie": browser, "access token": g.Access} {
		if strings.Contains(dump, secret) {
			t.Errorf("the database holds the %s", what)
		}
	}
	if !strings.Contains(dump, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Error("the password is not hashed as it should be")
	}
}

func dumpTables(t *testing.T, db *gorm.DB) string {
	t.Helper()
	var names []string
	if err := db.Raw("SELECT name FROM sqlite_master WHERE type = 'table'").Scan(&names).Error; err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, n := range names {
		var rows []map[string]any
		if err := db.Table(n).Find(&rows).Error; err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			for _, v := range r {
				if raw, ok := v.([]byte); ok {
					v = string(raw)
				}
				b.WriteString(strings.TrimSpace(strings.ReplaceAll(toText(v), "\n", " ")) + "\n")
			}
		}
	}
	return b.String()
}
