package accounts_test

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

func toText(v any) string { return fmt.Sprint(v) }

func TestKeysAreMadeOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	got := make([]accounts.Keys, 8)
	var all sync.WaitGroup
	for i := range got {
		all.Go(func() {
			k, err := accounts.LoadKeys(dir)
			if err != nil {
				t.Error(err)
			}
			got[i] = k
		})
	}
	all.Wait()
	for _, k := range got {
		if k.Server != got[0].Server || !k.Token.Equal(got[0].Token) || !k.Record.Equal(got[0].Record) {
			t.Fatal("servers that start at once hold different keys")
		}
	}
	if got[0].Token.Equal(got[0].Record) {
		t.Error("one key serves two purposes")
	}
	files, err := os.ReadDir(dir)
	if err != nil || len(files) != 3 {
		t.Fatalf("the folder holds %v, %v", files, err)
	}
	for _, f := range files {
		info, err := f.Info()
		if err != nil {
			t.Fatal(err)
		}
		if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
			t.Errorf("%s has mode %o", f.Name(), info.Mode().Perm())
		}
	}
}

func TestKeysThatOthersCanReadAreRefused(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("file modes say nothing on Windows")
	}
	dir := filepath.Join(t.TempDir(), "keys")
	if _, err := accounts.LoadKeys(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(filepath.Join(dir, "token.pem"), 0o640); err != nil {
		t.Fatal(err)
	}
	if _, err := accounts.LoadKeys(dir); err == nil {
		t.Error("a key that the group may read was taken")
	}
}

func TestTokensOutliveOneChangeOfKeys(t *testing.T) {
	w := newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))
	_, g := w.enrolled("m.reed", jobs.Site)
	reopen := func() *accounts.Accounts {
		t.Helper()
		keys, err := accounts.LoadKeys(w.keyDir)
		if err != nil {
			t.Fatal(err)
		}
		a, err := accounts.New(accounts.Config{DB: w.store.DB(), Record: w.store, Keys: keys, Now: w.clock})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	if err := os.Rename(filepath.Join(w.keyDir, "token.pem"), filepath.Join(w.keyDir, "token-previous.pem")); err != nil {
		t.Fatal(err)
	}
	_, err := reopen().Authenticate(t.Context(), g.Access)
	wantErr(t, "a token of the key before", err, nil)
	if err := os.Remove(filepath.Join(w.keyDir, "token-previous.pem")); err != nil {
		t.Fatal(err)
	}
	_, err = reopen().Authenticate(t.Context(), g.Access)
	wantErr(t, "a token of a key that is gone", err, replica.ErrSignIn)
}
