package storetest

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Ids for tests.
const (
	Company = "01900000-0000-7000-8000-00000000c001"
	Other   = "01900000-0000-7000-8000-00000000c002"
	Job     = "01900000-0000-7000-8000-00000000a001"
	Dev     = "01900000-0000-7000-8000-00000000d001"
	Person  = "01900000-0000-7000-8000-00000000b001"
)

// Run holds a store to its contract. open gives a fresh one.
func Run(t *testing.T, open func(testing.TB) replica.Store) {
	for _, c := range []struct {
		name string
		test func(*testing.T, replica.Store)
	}{
		{"an empty company is refused", emptyCompany},
		{"what one company keeps another does not see", companiesApart},
		{"an error takes everything back", rollback},
		{"entries come back as written", roundTrip},
		{"an erased body is NULL, not empty", nilBody},
		{"a key that was thrown away does not come back", droppedKey},
		{"the same place is given once", unique},
		{"writers queue", writersQueue},
		{"a snapshot does not move", snapshot},
		{"the log is read in order and within limits", log},
		{"seals keep their receipt", seals},
		{"identity: one is active", identity},
		{"a log that goes back takes what stood behind", goingBack},
		{"photos", photos},
		{"views say what they are made of", views},
		{"zero values are written", zeroValues},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open(t)) })
	}
}

// Entry makes the seq-th entry of a lane behind prev.
func Entry(t testing.TB, co, job, dev string, seq int64, prev jobs.Hash) jobs.Entry {
	t.Helper()
	e, err := jobs.NewEntry(jobs.Envelope{ID: fmt.Sprintf("01900000-0000-7000-%s-%012d", dev[32:], seq), Co: co, Job: job, Dev: dev, Seq: seq,
		Prev: prev, Run: seq, Clk: jobs.Clock(seq << 16), By: Person, Role: jobs.Site, Kind: "note", KV: 1}, []byte(`{"salt":"AAAAAAAAAAAAAAAAAAAAAA","text":"a note"}`))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func chain(t testing.TB, co, job string, n int) []replica.Stored {
	t.Helper()
	var list []replica.Stored
	var prev jobs.Hash
	for i := range n {
		e := Entry(t, co, job, Dev, int64(i+1), prev)
		prev = e.Hash
		list = append(list, replica.Stored{Entry: e, State: replica.Unsent, At: 1000 + int64(i)})
	}
	return list
}

func write(t testing.TB, s replica.Store, co string, f func(replica.Tx) error) {
	t.Helper()
	if err := s.Write(context.Background(), co, f); err != nil {
		t.Fatal(err)
	}
}

func read(t testing.TB, s replica.Store, co string, f func(replica.Tx) error) {
	t.Helper()
	if err := s.Read(context.Background(), co, f); err != nil {
		t.Fatal(err)
	}
}

func emptyCompany(t *testing.T, s replica.Store) {
	nothing := func(replica.Tx) error { return nil }
	if s.Read(context.Background(), "", nothing) == nil || s.Write(context.Background(), "", nothing) == nil {
		t.Error("a transaction without a company was opened")
	}
	write(t, s, Company, func(tx replica.Tx) error {
		if _, err := tx.Of(""); err == nil {
			t.Error("Of took an empty company")
		}
		return nil
	})
}

func companiesApart(t *testing.T, s replica.Store) {
	write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(chain(t, Company, Job, 3)) })
	read(t, s, Other, func(tx replica.Tx) error {
		es, err := tx.Entries(Job, 0)
		if len(es) != 0 || err != nil {
			t.Errorf("%d entries of another company, %v", len(es), err)
		}
		m, err := tx.Mark(Job)
		if m.Total != 0 {
			t.Errorf("mark of another company: %+v", m)
		}
		return err
	})
	err := s.Write(context.Background(), Other, func(tx replica.Tx) error { return tx.Insert(chain(t, Company, Job, 1)) })
	if !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("an entry of another company was taken: %v", err)
	}
}

func rollback(t *testing.T, s replica.Store) {
	stop := errors.New("stop")
	err := s.Write(context.Background(), Company, func(tx replica.Tx) error {
		if err := tx.Insert(chain(t, Company, Job, 2)); err != nil {
			return err
		}
		return stop
	})
	if !errors.Is(err, stop) {
		t.Fatalf("got %v", err)
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("a panic did not come through")
			}
		}()
		_ = s.Write(context.Background(), Company, func(tx replica.Tx) error { // panics
			if err := tx.Insert(chain(t, Company, Job, 2)); err != nil {
				t.Error(err)
			}
			panic("stop")
		})
	}()
	read(t, s, Company, func(tx replica.Tx) error {
		es, err := tx.Entries(Job, 0)
		if len(es) != 0 {
			t.Errorf("%d entries are left", len(es))
		}
		return err
	})
}

func roundTrip(t *testing.T, s replica.Store) {
	in := chain(t, Company, Job, 250) // more than two batches
	write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(in) })
	read(t, s, Company, func(tx replica.Tx) error {
		out, err := tx.Entries(Job, 0)
		if err != nil {
			return err
		}
		if len(out) != len(in) {
			t.Fatalf("%d of %d entries", len(out), len(in))
		}
		for i, e := range out {
			if string(e.Env) != string(in[i].Env) || string(e.Data) != string(in[i].Data) || e.Hash != in[i].Hash {
				t.Fatalf("entry %d has other bytes", i)
			}
			if e.Pos != int64(i+1) || e.State != replica.Unsent || e.Seq != in[i].Seq || e.At != in[i].At {
				t.Fatalf("entry %d: %+v", i, e)
			}
		}
		later, err := tx.Entries(Job, 240)
		if len(later) != 10 {
			t.Errorf("%d entries behind 240, not 10", len(later))
		}
		end, _ := tx.Lane(Dev, Job)
		if end.Seq != 250 || end.H != in[249].Hash {
			t.Errorf("lane ends at %+v", end)
		}
		ends, _ := tx.LanesOf(Dev)
		if len(ends) != 1 || ends[0].Seq != 250 {
			t.Errorf("lanes %+v", ends)
		}
		known, _ := tx.Known([]string{in[0].ID, in[249].ID, Other})
		if len(known) != 2 || known[in[249].ID].H != in[249].Hash {
			t.Errorf("known %+v", known)
		}
		m, _ := tx.Mark(Job)
		if m.Total != 250 {
			t.Errorf("total %d", m.Total)
		}
		return err
	})
}

func nilBody(t *testing.T, s replica.Store) {
	list := chain(t, Company, Job, 1)
	body := list[0].Data
	list[0].Data, list[0].State = nil, replica.Held
	write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(list) })
	get := func() (e replica.Stored) {
		read(t, s, Company, func(tx replica.Tx) error {
			es, err := tx.Entries(Job, 0)
			if err == nil {
				e = es[0]
			}
			return err
		})
		return e
	}
	if got := get(); got.Data != nil {
		t.Errorf("a body that is not there came back as %q", got.Data)
	}
	write(t, s, Company, func(tx replica.Tx) error { return tx.SetBody(list[0].Hash, body, nil) })
	if got := get(); string(got.Data) != string(body) {
		t.Errorf("the body that came later is %q", got.Data)
	}
	err := s.Write(context.Background(), Company, func(tx replica.Tx) error { return tx.SetBody(list[0].Hash, body, nil) })
	if !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("a body was written twice: %v", err)
	}
}

func droppedKey(t *testing.T, s replica.Store) {
	list := chain(t, Company, Job, 3)
	keys := make([][]byte, len(list))
	for i := range list {
		keys[i] = bytes.Repeat([]byte{byte(i + 1)}, jobs.KeySize)
		list[i].Key = keys[i]
	}
	body := list[1].Data
	list[1].Data, list[1].Key, list[1].State = nil, nil, replica.Held
	write(t, s, Company, func(tx replica.Tx) error { return tx.DropKey(list[2].Hash) }) // before its entry has come
	write(t, s, Company, func(tx replica.Tx) error {
		if err := tx.Insert(list); err != nil {
			return err
		}
		acts := make([]replica.Act, len(list))
		for i, e := range list {
			acts[i] = replica.Act{N: int64(i + 1), Act: replica.ActStand, H: e.Hash, Job: e.Job, At: 1}
		}
		return tx.Log(acts)
	})
	want := func(say string, keys ...[]byte) {
		t.Helper()
		read(t, s, Company, func(tx replica.Tx) error {
			es, err := tx.Entries(Job, 0)
			if err != nil {
				return err
			}
			acts, err := tx.Acts(0, 10, 1<<20)
			if err != nil {
				return err
			}
			for i := range es {
				if !bytes.Equal(es[i].Key, keys[i]) || !bytes.Equal(acts[i].Key, keys[i]) {
					t.Errorf("%s: entry %d has the key %x, its act %x, want %x", say, i+1, es[i].Key, acts[i].Key, keys[i])
				}
			}
			return nil
		})
	}
	want("inserted", keys[0], nil, nil)
	write(t, s, Company, func(tx replica.Tx) error { return tx.SetBody(list[1].Hash, body, keys[1]) })
	want("with its body", keys[0], keys[1], nil)
	for range 2 {
		write(t, s, Company, func(tx replica.Tx) error { return tx.DropKey(list[0].Hash) })
		want("thrown away", nil, keys[1], nil)
	}
	write(t, s, Company, func(tx replica.Tx) error {
		return tx.PutAside([]replica.Aside{{Entry: list[0].Entry, Why: replica.WhyForked, State: replica.AsideKept}})
	})
	want("said again", nil, keys[1], nil)
	read(t, s, Company, func(tx replica.Tx) error {
		as, err := tx.Asides("")
		if err == nil && (len(as) != 1 || as[0].Key != nil) {
			t.Errorf("aside lies %+v", as)
		}
		return err
	})
}

func unique(t *testing.T, s replica.Store) {
	list := chain(t, Company, Job, 2)
	write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(list[:1]) })
	again := func(e jobs.Entry) error {
		return s.Write(context.Background(), Company, func(tx replica.Tx) error {
			return tx.Insert([]replica.Stored{{Entry: e, State: replica.Unsent, At: 1}})
		})
	}
	other := func(change func(*jobs.Envelope)) jobs.Entry {
		env := list[1].Envelope
		change(&env)
		e, err := jobs.NewEntry(env, list[1].Data)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	for name, e := range map[string]jobs.Entry{
		"hash":  list[0].Entry,
		"id":    other(func(e *jobs.Envelope) { e.ID = list[0].ID }),
		"place": other(func(e *jobs.Envelope) { e.Seq, e.Prev, e.Run = 1, jobs.Hash{}, 7 }),
		"run":   other(func(e *jobs.Envelope) { e.Job, e.Run, e.Seq, e.Prev = Other, 1, 1, jobs.Hash{} }),
	} {
		if again(e) == nil {
			t.Errorf("the same %s was given twice", name)
		}
	}
}

func writersQueue(t *testing.T, s replica.Store) {
	const writers, each = 4, 25
	var wg sync.WaitGroup
	for range writers {
		wg.Go(func() {
			for range each {
				err := s.Write(context.Background(), Company, func(tx replica.Tx) error {
					seq, err := tx.Seq()
					if err != nil {
						return err
					}
					seq.N++
					seq.Epoch = "e"
					return tx.SetSeq(seq)
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	read(t, s, Company, func(tx replica.Tx) error {
		seq, err := tx.Seq()
		if seq.N != writers*each {
			t.Errorf("%d of %d writes are there: a writer read before it held the lock", seq.N, writers*each)
		}
		return err
	})
}

func snapshot(t *testing.T, s replica.Store) {
	list := chain(t, Company, Job, 2)
	write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(list[:1]) })
	read(t, s, Company, func(tx replica.Tx) error {
		before, err := tx.Mark(Job)
		if err != nil {
			return err
		}
		write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(list[1:]) })
		es, err := tx.Entries(Job, 0)
		if int64(len(es)) != before.Total {
			t.Errorf("%d entries in a snapshot of %d", len(es), before.Total)
		}
		return err
	})
}

func log(t *testing.T, s replica.Store) {
	list := chain(t, Company, Job, 230)
	write(t, s, Company, func(tx replica.Tx) error {
		if err := tx.Insert(list); err != nil {
			return err
		}
		var acts []replica.Act
		var head jobs.Hash
		for i, e := range list {
			head = replica.NextHead(head, int64(i+1), replica.ActStand, e.Hash)
			acts = append(acts, replica.Act{N: int64(i + 1), Act: replica.ActStand, H: e.Hash, Job: Job, Head: head, At: 5})
		}
		return tx.Log(acts)
	})
	read(t, s, Company, func(tx replica.Tx) error {
		acts, err := tx.Acts(10, 150, 1<<20)
		if len(acts) != 150 || acts[0].N != 11 || acts[149].N != 160 {
			t.Errorf("%d acts", len(acts))
		}
		for i, a := range acts {
			if string(a.Env) != string(list[10+i].Env) || a.Dev != Dev {
				t.Fatalf("act %d is about another entry", a.N)
			}
		}
		few, _ := tx.Acts(0, 100, 1)
		if len(few) != 1 {
			t.Errorf("%d acts in one byte, not 1", len(few))
		}
		head, _ := tx.HeadAt(acts[0].N)
		if head != acts[0].Head {
			t.Error("HeadAt gives another head")
		}
		none, _ := tx.HeadAt(1000)
		if !none.IsZero() {
			t.Error("a head where there is no act")
		}
		return err
	})
	err := s.Write(context.Background(), Company, func(tx replica.Tx) error {
		return tx.Log([]replica.Act{{N: 999, Act: replica.ActStand, H: jobs.Hash{1}, Job: Job}})
	})
	if err == nil {
		t.Error("an act about no entry was written")
	}
}

func seals(t *testing.T, s replica.Store) {
	sig := make([]byte, ed25519.SignatureSize)
	seal := replica.Seal{Co: Company, Dev: Dev, Job: Job, Seq: 3, H: jobs.Hash{3}, Run: 3, Sig: sig}
	with := func(n int64) replica.Seal {
		sealed := seal
		sealed.Receipt = &replica.Receipt{Co: Company, Epoch: "e", N: n, Dev: Dev, Job: Job, Seq: 3, H: seal.H, At: 100 + n}
		return sealed
	}
	get := func() (got replica.Seal) {
		read(t, s, Company, func(tx replica.Tx) (err error) {
			got, err = tx.SealAt(Dev, Job, 3)
			return err
		})
		return got
	}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutSeals([]replica.Seal{seal}) })
	if get().Receipt != nil {
		t.Error("a receipt from nowhere")
	}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutSeals([]replica.Seal{with(7)}) })
	if r := get().Receipt; r == nil || r.N != 7 || r.At != 107 || r.H != seal.H || r.Sig != nil {
		t.Errorf("receipt %+v", r)
	}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutSeals([]replica.Seal{with(9)}) })
	if r := get().Receipt; r.N != 7 || r.At != 107 {
		t.Errorf("the receipt changed to %+v", r)
	}
	read(t, s, Company, func(tx replica.Tx) error {
		in, err := tx.Seals(6, 7)
		out, _ := tx.Seals(7, 20)
		if len(in) != 1 || len(out) != 0 {
			t.Errorf("%d and %d seals", len(in), len(out))
		}
		if _, err := tx.LastSeal(Dev, Other); !errors.Is(err, jobs.ErrNotFound) {
			t.Errorf("last seal of an empty lane: %v", err)
		}
		return err
	})
}

func identity(t *testing.T, s replica.Store) {
	ctx := context.Background()
	if _, err := s.Active(ctx); !errors.Is(err, replica.ErrNoHome) {
		t.Errorf("an empty home: %v", err)
	}
	me := replica.Me{Company: Company, Device: Dev, Person: Person, Role: jobs.Owner, Active: true}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutMe(me) })
	next := replica.Me{Company: Other, Device: Job, Person: Person, Role: jobs.Site, Active: true, Off: -5, ServerKey: make([]byte, 32),
		Cursor: replica.Cursor{Epoch: "e", N: 4, Head: jobs.Hash{4}, Sig: []byte{1}}, Ladder: []replica.Rung{{N: 1, Head: jobs.Hash{1}}, {N: 3, Head: jobs.Hash{3}}}}
	write(t, s, Other, func(tx replica.Tx) error { return tx.PutMe(next) })
	got, err := s.Active(ctx)
	if err != nil || got.Company != Other || got.Cursor.N != 4 || got.Cursor.Head != next.Cursor.Head || got.Off != -5 || got.Role != jobs.Site || !slices.Equal(got.Ladder, next.Ladder) {
		t.Errorf("active is %+v, %v", got, err)
	}
	cos, err := s.Companies(ctx)
	if len(cos) != 2 || err != nil {
		t.Errorf("companies %v, %v", cos, err)
	}
	people := []replica.Person{{ID: Person, Name: "Ann Example", Role: jobs.Site}}
	write(t, s, Other, func(tx replica.Tx) error { return tx.PutPeople(people) })
	write(t, s, Other, func(tx replica.Tx) error { return tx.PutPeople(people) })
	read(t, s, Other, func(tx replica.Tx) error {
		ps, err := tx.People()
		if len(ps) != 1 || ps[0] != people[0] {
			t.Errorf("people %+v", ps)
		}
		return err
	})
}

func goingBack(t *testing.T, s replica.Store) {
	list := chain(t, Company, Job, 6) // 1 and 2 stand, 3 is held, 4 and 5 stand, 6 was sent
	for i := range list {
		list[i].State, list[i].N = replica.Standing, int64(i+1)
	}
	list[2].State, list[5].State, list[5].N = replica.Held, replica.Sent, 0
	write(t, s, Company, func(tx replica.Tx) error {
		if err := tx.Insert(list); err != nil {
			return err
		}
		m, err := tx.Mark(Job)
		if err != nil {
			return err
		}
		for _, e := range list {
			if e.State == replica.Standing {
				m.Stands(e.Hash)
			}
		}
		m.N = 5
		return tx.SetMark(m)
	})
	for _, c := range []struct {
		after, n int64
		stand    int
		states   string
	}{
		{4, 4, 3, "standing 1, standing 2, held 3, standing 4, to_confirm 0, to_confirm 0, "},
		{2, 2, 2, "standing 1, standing 2, held 0, to_confirm 0, to_confirm 0, to_confirm 0, "},
		{0, 0, 0, "to_confirm 0, to_confirm 0, held 0, to_confirm 0, to_confirm 0, to_confirm 0, "},
	} {
		write(t, s, Company, func(tx replica.Tx) error { return tx.ToConfirm(c.after) })
		read(t, s, Company, func(tx replica.Tx) error {
			got, err := tx.Entries(Job, 0)
			if err != nil {
				return err
			}
			states := ""
			var want replica.Mark
			for i, e := range got {
				states += fmt.Sprintf("%s %d, ", e.State, e.N)
				if i < c.stand && e.State == replica.Standing || i == 3 && c.stand == 3 {
					want.Stands(e.Hash)
				}
			}
			m, err := tx.Mark(Job)
			if states != c.states || m.N != c.n || m.Count != want.Count || m.Sum != want.Sum || m.Total != 6 || want.Count != int64(c.stand) {
				t.Errorf("back to %d: %s the mark is %+v", c.after, states, m)
			}
			return err
		})
	}
}

func photos(t *testing.T, s replica.Store) {
	p := replica.Photo{Job: Job, H: jobs.Hash{9}, Size: 10, Here: true}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutPhoto(p) })
	read(t, s, Company, func(tx replica.Tx) error {
		if n, _ := tx.CountPhotos(true, false); n != 1 {
			t.Errorf("%d photos to send", n)
		}
		if _, err := tx.Photo(Other, p.H); !errors.Is(err, jobs.ErrNotFound) {
			t.Errorf("a photo of another job: %v", err)
		}
		got, err := tx.Photo(Job, p.H)
		if got != p {
			t.Errorf("photo %+v", got)
		}
		return err
	})
	p.Sent = true
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutPhoto(p) })
	read(t, s, Company, func(tx replica.Tx) error {
		left, err := tx.Photos(true, false, 10)
		all, _ := tx.AllPhotos()
		if len(left) != 0 || len(all) != 1 || !all[0].Sent {
			t.Errorf("left %+v, all %+v", left, all)
		}
		return err
	})
}

func views(t *testing.T, s replica.Store) {
	write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(chain(t, Company, Job, 2)) })
	stale := func() (ms []replica.Mark) {
		read(t, s, Company, func(tx replica.Tx) (err error) {
			ms, err = tx.Stale()
			return err
		})
		return ms
	}
	if got := stale(); len(got) != 1 || got[0].Job != Job || got[0].Total != 2 {
		t.Fatalf("stale %+v", got)
	}
	v := replica.View{Job: Job, Total: 2, Name: "Ålesund flat", Site: "x", Sheets: map[string]string{"CODE1": "C1", "CODE2": "C2"}}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutView(v) })
	if got := stale(); len(got) != 0 {
		t.Fatalf("still stale %+v", got)
	}
	v.Sheets = map[string]string{"CODE2": "C9"}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutView(v) })
	read(t, s, Company, func(tx replica.Tx) error {
		if _, _, err := tx.Sheet("CODE1"); !errors.Is(err, jobs.ErrNotFound) {
			t.Errorf("a code that is gone: %v", err)
		}
		job, surface, err := tx.Sheet("CODE2")
		if job != Job || surface != "C9" {
			t.Errorf("sheet %s %s", job, surface)
		}
		rows, _ := tx.JobRows()
		if len(rows) != 1 || rows[0].Name != v.Name || rows[0].Entries != 2 || rows[0].Unsent != 2 || rows[0].Total != 2 || rows[0].Rev != 0 || rows[0].Last != jobs.Clock(2<<16) {
			t.Errorf("rows %+v", rows)
		}
		return err
	})
	write(t, s, Company, func(tx replica.Tx) error { return tx.DropViews() })
	if got := stale(); len(got) != 1 {
		t.Error("dropped views are not stale")
	}
}

func zeroValues(t *testing.T, s replica.Store) {
	d := replica.Device{ID: Dev, Key: make([]byte, 32), Name: "tablet", NextRun: 9, Clk: 77 << 16, Revoked: 5}
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutDevice(d) })
	d.Revoked, d.Name, d.Clk = 0, "", 0
	write(t, s, Company, func(tx replica.Tx) error { return tx.PutDevice(d) })
	list := chain(t, Company, Job, 1)
	list[0].N = 3
	write(t, s, Company, func(tx replica.Tx) error { return tx.Insert(list) })
	write(t, s, Company, func(tx replica.Tx) error {
		if err := tx.SetMark(replica.Mark{Job: Job, Count: 1, Rev: 1, N: 3, Sum: jobs.Hash{1}}); err != nil {
			return err
		}
		if err := tx.SetState(list[0].Hash, replica.Standing, 0, ""); err != nil {
			return err
		}
		return tx.SetMark(replica.Mark{Job: Job})
	})
	read(t, s, Company, func(tx replica.Tx) error {
		got, err := tx.Device(Dev)
		if got.Revoked != 0 || got.Name != "" || got.Clk != 0 || got.NextRun != 9 {
			t.Errorf("device %+v", got)
		}
		m, _ := tx.Mark(Job)
		if m.Count != 0 || !m.Sum.IsZero() || m.Rev != 0 || m.Total != 1 {
			t.Errorf("mark %+v", m)
		}
		es, _ := tx.Entries(Job, 0)
		if es[0].N != 0 || es[0].State != replica.Standing {
			t.Errorf("entry %+v", es[0])
		}
		return err
	})
}
