package storetest

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
)

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
