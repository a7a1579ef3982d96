package sim

import (
	"errors"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// disk is a store of which a copy can be made as it stands: a backup, or the same disk in another machine.
type disk interface {
	replica.Store
	snapshot() disk
}

// told is a disk that fails when it is told to.
type told struct {
	*storetest.Failing
	on disk
}

func tell(on disk) *told { return &told{&storetest.Failing{Store: on}, on} }

func (s *told) copy() *told { return tell(s.on.snapshot()) }

// look reads something in a company's record. It never fails by order.
func look[T any](s *told, f func(tx replica.Tx) (T, error)) (v T) {
	must(s.on.Read(ctx, company, func(tx replica.Tx) (err error) {
		v, err = f(tx)
		return err
	}), "look at a store")
	return v
}

func (s *told) end() replica.Seq { return look(s, replica.Tx.Seq) }
func (s *told) me() replica.Me   { return look(s, replica.Tx.Me) }

// from lists what a device wrote, as far as it is here.
func (s *told) from(dev string) []replica.Stored {
	return look(s, func(tx replica.Tx) ([]replica.Stored, error) { return tx.From(dev, 1) })
}

func (s *told) has(h jobs.Hash) bool {
	return look(s, func(tx replica.Tx) (bool, error) {
		_, err := tx.Entry(h)
		if errors.Is(err, jobs.ErrNotFound) {
			return false, nil
		}
		return err == nil, err
	})
}
