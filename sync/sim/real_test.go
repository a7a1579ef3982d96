package sim

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// lab is where schedules are played on real stores, one after the other; what one has opened is closed before the next.
type lab struct {
	dir    string // of SQLite files
	n      int
	opened []func() error // closes
	tidy   []func() error
}

func newLab(t *testing.T) *lab {
	t.Helper()
	l := &lab{}
	var err error
	if _, err = os.Stat("/dev/shm"); err == nil {
		l.dir, err = os.MkdirTemp("/dev/shm", "tacet-sim-")
	} else {
		l.dir, err = os.MkdirTemp("", "tacet-sim-")
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := errors.Join(l.clear(0, 0), os.RemoveAll(l.dir)); err != nil {
			t.Error(err)
		}
	})
	return l
}

// clear does what was to be done, and closes what was opened since.
func (l *lab) clear(opened, tidy int) error {
	var errs []error
	for _, f := range append(slices.Clone(l.tidy[tidy:]), l.opened[opened:]...) {
		errs = append(errs, f())
	}
	l.opened, l.tidy = l.opened[:opened], l.tidy[:tidy]
	return errors.Join(errs...)
}

func (l *lab) open(path string, closed func()) *store.Store {
	s, err := store.Open(ctx, path)
	must(err, "open "+path)
	l.opened = append(l.opened, func() error {
		closed()
		return s.Close()
	})
	return s
}

// file is a disk with a SQLite file on it, opened when it is used first: most backups never are.
type file struct {
	lab   *lab
	path  string
	store *store.Store
}

func (l *lab) file() *file {
	l.n++
	return &file{lab: l, path: filepath.Join(l.dir, fmt.Sprintf("%d.db", l.n))}
}

func (f *file) on() *store.Store {
	if f.store == nil {
		f.store = f.lab.open(f.path, func() { f.store = nil })
	}
	return f.store
}

func (f *file) snapshot() disk {
	to := f.lab.file()
	must(f.on().DB().Exec("VACUUM INTO ?", to.path).Error, "copy a file")
	f.lab.tidy = append(f.lab.tidy, func() error { return to.remove() })
	return to
}

func (f *file) remove() error {
	found, err := filepath.Glob(f.path + "*")
	for _, p := range found {
		err = errors.Join(err, os.Remove(p))
	}
	return err
}

func (f *file) Read(ctx context.Context, co string, do func(replica.Tx) error) error {
	return f.on().Read(ctx, co, do)
}

func (f *file) Write(ctx context.Context, co string, do func(replica.Tx) error) error {
	return f.on().Write(ctx, co, do)
}

func (f *file) Companies(ctx context.Context) ([]string, error) { return f.on().Companies(ctx) }
func (f *file) Active(ctx context.Context) (replica.Me, error)  { return f.on().Active(ctx) }

// database is a PostgreSQL database with two programs on it. A backup is a copy of its tables in a schema of its own.
type database struct {
	*store.Store
	second *store.Store
	lab    *lab
}

func (d *database) another(int) replica.Store { return d.second }

func (d *database) tables() []string {
	var names []string
	must(d.DB().Raw("SELECT tablename FROM pg_tables WHERE schemaname = 'public' AND tablename NOT LIKE 'goose%' ORDER BY 1").Scan(&names).Error, "list tables")
	return names
}

func (d *database) exec(sql ...string) {
	must(d.DB().Exec(strings.Join(sql, ";")).Error, "copy tables")
}

func (d *database) snapshot() disk {
	d.lab.n++
	b := &dump{database: d, schema: fmt.Sprintf("b%d", d.lab.n)}
	sql := []string{"CREATE SCHEMA " + b.schema}
	for _, t := range d.tables() {
		sql = append(sql, fmt.Sprintf("CREATE TABLE %s.%s AS TABLE public.%s", b.schema, t, t))
	}
	d.exec(sql...)
	d.lab.tidy = append(d.lab.tidy, func() error { return d.DB().Exec("DROP SCHEMA " + b.schema + " CASCADE").Error })
	return b
}

// dump is such a backup; a copy of it is the database put back.
type dump struct {
	*database
	schema string
}

func (b *dump) snapshot() disk {
	names := b.tables()
	sql := []string{"BEGIN", "SET LOCAL session_replication_role = replica", "TRUNCATE " + strings.Join(names, ", ")}
	for _, t := range names {
		sql = append(sql, fmt.Sprintf("INSERT INTO public.%s TABLE %s.%s", t, b.schema, t))
	}
	b.exec(append(sql, "COMMIT")...)
	return b.database
}

// playReal plays schedules, one after the other, in copies of a company that was founded on real stores.
func playReal(t *testing.T, l *lab, company *world, name string, otherwise int) {
	t.Helper()
	n, first := number(name, otherwise), number("TACET_SEED", 1)
	if testing.Short() {
		n = min(n, 3)
	}
	opened, tidy := len(l.opened), len(l.tidy)
	var all met
	for seed := first; seed < first+n; seed++ {
		s := schedule{seed: uint64(seed), steps: stepsShort, deep: true, in: company.begin}
		w, played, err := s.run()
		if err != nil {
			t.Fatalf("seed %d: %v after %d steps; in memory: TACET_SIM=1 TACET_SEED=%d go test ./sync/sim -run TestSchedules", seed, err, len(played), seed)
		}
		all.add(w)
		if err := l.clear(opened, tidy); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("evidence: %d schedules of %d steps from seed %d, none failed; met: %v", n, stepsShort, first, all.n)
}

// The same schedules, with a SQLite file for the server and for each device. TACET_SIM_SQLITE gives the number.
func TestSchedulesOnSQLite(t *testing.T) {
	l := newLab(t)
	company := found(l.file(), func() disk { return l.file() })
	playReal(t, l, company, "TACET_SIM_SQLITE", 30)
}

// The same schedules, with two servers on one PostgreSQL database; the devices keep theirs in memory. TACET_SIM_POSTGRES gives the
// number.
func TestSchedulesOnPostgres(t *testing.T) {
	dsn := storetest.PostgresDSN(t)
	l := newLab(t)
	stays := func() {}
	company := found(&database{Store: l.open(dsn, stays), second: l.open(dsn, stays), lab: l}, func() disk { return newMemory() })
	company.store = tell(company.store.on.snapshot()) // each schedule begins by putting this back
	playReal(t, l, company, "TACET_SIM_POSTGRES", 10)
}
