package storetest

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
)

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
