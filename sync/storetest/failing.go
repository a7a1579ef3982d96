package storetest

import (
	"context"
	"fmt"

	"tacet/sync/replica"
)

// Failing is a store whose calls fail when it is told so: each call within a transaction, its beginning and its commit.
type Failing struct {
	replica.Store
	// Fail is asked before each call, with the name of the call and whether the transaction may write. Nil fails nothing.
	Fail func(call string, write bool) error
	// Lose is asked before each commit; where it says true, the commit is reported and does not happen. No store may do so: a
	// test that plants this has to find it.
	Lose func() bool
	// Stick is asked after each commit of a transaction that has written; where it says true, the commit has happened and is not
	// confirmed, as where it waits for a standby that does not answer.
	Stick func() bool
}

var _ replica.Store = (*Failing)(nil)

func (s *Failing) ask(call string, write bool) error {
	if s.Fail == nil {
		return nil
	}
	return s.Fail(call, write)
}

// lost takes a transaction back without a word.
type lost struct{}

func (lost) Error() string { return "lost" }

// Read gives f one snapshot.
func (s *Failing) Read(ctx context.Context, co string, f func(replica.Tx) error) error {
	if err := s.ask("begin", false); err != nil {
		return err
	}
	return s.Store.Read(ctx, co, func(tx replica.Tx) error { return f(&failingTx{Tx: tx, s: s}) })
}

// Write gives f the company's lock until the commit.
func (s *Failing) Write(ctx context.Context, co string, f func(replica.Tx) error) error {
	if err := s.ask("begin", true); err != nil {
		return err
	}
	var wrote bool
	err := s.Store.Write(ctx, co, func(tx replica.Tx) error {
		wrote = false
		if err := f(&failingTx{Tx: tx, s: s, write: true, wrote: &wrote}); err != nil {
			return err
		}
		if err := s.ask("commit", true); err != nil {
			return err
		}
		if s.Lose != nil && s.Lose() {
			return lost{}
		}
		return nil
	})
	if err == (lost{}) {
		return nil
	}
	if err == nil && wrote && s.Stick != nil && s.Stick() {
		return fmt.Errorf("committed, and not confirmed: %w", replica.ErrBusy)
	}
	return err
}
