// Package pagestest makes a small record for tests of the pages: the invented firm's job at 7b Lantern Row in the middle of the
// work, on a real replica with a real SQLite file, and an app that shows it. Tests of the pages and browser tests share it.
package pagestest

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/live"
	"tacet/server/pages"
	"tacet/sync/archive"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
)

// Ids of the invented firm and its people.
const (
	Company = "018f0000-0000-7000-8000-00000000c001"
	Job     = "018f0000-0000-7000-8000-00000000a001"
	Crowded = "018f0000-0000-7000-8000-00000000a002"
	Maren   = "018f0000-0000-7000-8000-00000000b001" // supervisor
	Idris   = "018f0000-0000-7000-8000-00000000b002" // lead fitter
	Pavo    = "018f0000-0000-7000-8000-00000000b003" // fitter
	Device  = "018f0000-0000-7000-8000-00000000d001"
)

var names = map[string]string{Maren: "Maren Tolleby", Idris: "Idris Vaugh", Pavo: "Pavo Lindqvist-Rao"}

// World is one record with its app.
type World struct {
	Replica *replica.Replica
	Blobs   *photo.Dir
	App     *fiber.App
	Pages   *pages.Pages

	store *store.Store

	// Who asks; change it between requests.
	Visitor pages.Visitor
	// Now is the clock of replica and pages.
	Now time.Time
	mu  sync.Mutex // of Now, while the app is served
	t   testing.TB
}

// Options choose what kind of program hosts the pages.
type Options struct {
	Program pages.Program // empty: the client
	Link    pages.Link
	SyncErr error
	Live    *live.Hub // hears what is recorded; nil: pages look by themselves
}

// New makes the record, as Idris finds it on the device that recorded it.
func New(t testing.TB, o Options) *World {
	t.Helper()
	w := &World{t: t, Now: time.Date(2026, 11, 25, 14, 5, 0, 0, time.UTC), Visitor: pages.Visitor{Company: Company, Firm: "Quillmarsh Linings",
		Person: Idris, Name: names[Idris], Role: jobs.Site}}
	dir := t.TempDir()
	st, err := store.Open(t.Context(), filepath.Join(dir, "record.db"))
	w.must(err)
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	_, key, err := ed25519.GenerateKey(nil)
	w.must(err)
	w.store = st
	if o.Live != nil {
		o.Live.AnnounceMore(Company)
		st.OnCommit(func(company string, _ int64) { o.Live.AnnounceMore(company) })
	}
	w.must(replica.Settle(t.Context(), st, replica.Me{Company: Company, Device: Device, Person: Idris, Role: jobs.Site}))
	w.Blobs = photo.NewDir(filepath.Join(dir, "photos"))
	w.Replica = replica.New(replica.Config{Store: st, Blobs: w.Blobs, Company: Company, Device: Device, Key: key, Now: w.clock, Rand: rand.Reader})
	w.App = fiber.New(fiber.Config{Immutable: true, DisableStartupMessage: true, BodyLimit: 64 << 20})
	w.Pages = pages.New(w.deps(o))
	w.Pages.Register(w.App)
	w.App.Use(w.Pages.NotFound)
	return w
}

func (w *World) deps(o Options) pages.Deps {
	d := pages.Deps{Program: o.Program, Version: "test", Record: w.Replica, Blobs: w.Blobs, Now: w.clock, SheetHost: "https://office.example.org", Live: o.Live,
		Who: func(*fiber.Ctx) (pages.Visitor, error) {
			if w.Visitor.Person == "" {
				return pages.Visitor{}, replica.ErrSignIn
			}
			return w.Visitor, nil
		},
		Name: func(_ context.Context, _, person string) string { return names[person] },
		Whole: func(ctx context.Context, company, job string) (archive.Content, error) {
			return archive.Collect(ctx, w.store, company, job)
		},
	}
	if d.Program == "" {
		d.Program = pages.Client
	}
	if d.Program == pages.Client {
		d.Link = func(context.Context) pages.Link { return o.Link }
		d.Sync = func(context.Context) error { return o.SyncErr }
		return d
	}
	d.SignIn = func(_ *fiber.Ctx, login, password string) error {
		if login == "maren" && password == "correct horse battery staple" {
			w.As(Maren, jobs.Supervisor)
			return nil
		}
		return &jobs.InputError{Field: "login", Value: "not known", Hint: "login and password do not belong together"}
	}
	d.SignOut = func(*fiber.Ctx) error { w.Visitor = pages.Visitor{}; return nil }
	return d
}

func (w *World) clock() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.Now
}

// As makes somebody else ask from now on.
func (w *World) As(person string, role jobs.Role) {
	w.Visitor = pages.Visitor{Company: Company, Firm: "Quillmarsh Linings", Person: person, Name: names[person], Role: role}
}

// Record records edge objects as a person, a minute after the last ones.
func (w *World) Record(person string, role jobs.Role, job string, edges ...string) []jobs.Entry {
	w.t.Helper()
	w.mu.Lock()
	w.Now = w.Now.Add(time.Minute)
	w.mu.Unlock()
	raw := make([]json.RawMessage, len(edges))
	for i, e := range edges {
		raw[i] = json.RawMessage(e)
	}
	es, err := w.Replica.Record(w.t.Context(), Company, jobs.Author{Person: person, Role: role}, job, raw)
	if err != nil {
		w.t.Fatalf("record %s: %v", edges, err)
	}
	return es
}

// Hold keeps a record that a rule does not allow, as it comes from a device that did not ask: it waits for the supervisor.
func (w *World) Hold(person string, role jobs.Role, kind string, on jobs.On, body string) {
	w.t.Helper()
	id, err := w.Replica.NewID()
	w.must(err)
	e, err := jobs.NewEntry(jobs.Envelope{ID: id, Co: Company, Job: Job, Dev: "018f0000-0000-7000-8000-00000000d009", Seq: 1, Run: 1, Clk: jobs.ClockAt(w.Now),
		By: person, Role: role, Kind: kind, KV: jobs.KindVersion(kind), On: on}, []byte(body))
	w.must(err)
	w.must(w.store.Write(w.t.Context(), Company, func(tx replica.Tx) error {
		return tx.Insert([]replica.Stored{{Entry: e, State: replica.Held, At: w.Now.UnixMilli()}})
	}))
}

// JobAs reads a job as it stands.
func (w *World) JobAs(id string) *jobs.Job {
	w.t.Helper()
	j, err := w.Replica.Job(w.t.Context(), Company, id)
	w.must(err)
	return j
}

// Import records the job file of that name from testdata/demo.
func (w *World) Import(id, file string) {
	w.t.Helper()
	_, here, _, _ := runtime.Caller(0)
	data, err := os.ReadFile(filepath.Join(filepath.Dir(here), "..", "..", "..", "testdata", "demo", file))
	w.must(err)
	w.ImportJSON(id, data)
}

// ImportJSON records a job file.
func (w *World) ImportJSON(id string, data []byte) {
	w.t.Helper()
	edges, err := jobs.Import(data)
	w.must(err)
	_, err = w.Replica.Record(w.t.Context(), Company, jobs.Author{Person: Maren, Role: jobs.Supervisor}, id, edges)
	w.must(err)
}

// Photo keeps a picture of a board with a gap beside it and returns its hash as records name it.
func (w *World) Photo() string {
	w.t.Helper()
	clean, err := photo.Prepare("photo", Picture())
	w.must(err)
	h, err := w.Blobs.Put(w.t.Context(), Company, clean)
	w.must(err)
	return h.String()
}

// Picture is a small JPEG.
func Picture() []byte {
	img := image.NewRGBA(image.Rect(0, 0, 320, 240))
	for y := range 240 {
		for x := range 320 {
			c := color.RGBA{196, 190, 180, 255}
			if x > 150 && x < 162 {
				c = color.RGBA{40, 38, 36, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		panic(errors.Join(errors.New("encode the test picture"), err))
	}
	return b.Bytes()
}

func (w *World) must(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

// FirstJob is the id of some job of the record.
func (w *World) FirstJob() string {
	w.t.Helper()
	rows, err := w.Replica.Jobs(w.t.Context(), Company)
	w.must(err)
	if len(rows) == 0 {
		w.t.Fatal("no job is recorded")
	}
	return rows[0].ID
}

// Move takes entries of the first job from one state to another in one step, as a page of another replica's log does.
func (w *World) Move(to map[jobs.Hash]replica.State) {
	w.t.Helper()
	w.must(w.store.Write(w.t.Context(), Company, func(tx replica.Tx) error {
		for h, s := range to {
			if err := tx.SetState(h, s, 0, ""); err != nil {
				return err
			}
		}
		m, err := tx.Mark(Job)
		if err != nil {
			return err
		}
		m.Rev++
		return tx.SetMark(m)
	}))
}
