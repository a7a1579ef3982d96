package storetest

import (
	"context"
	"errors"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
)

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
