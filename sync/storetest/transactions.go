package storetest

import (
	"context"
	"errors"
	"sync"
	"testing"

	"tacet/sync/replica"
)

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
