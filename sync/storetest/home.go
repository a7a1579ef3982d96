package storetest

import (
	"context"
	"errors"
	"slices"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
)

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
