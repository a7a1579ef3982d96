package pages

import (
	"context"
	"sync"

	"tacet/jobs"
	"tacet/jobs/outcomes"
	"tacet/sync/replica"
)

// shelf keeps the outcomes of a company's jobs, in a book that takes in one job at a time.
type shelf struct {
	kept[struct{}]
	book *outcomes.Book
}

// shelves holds one shelf for each company.
var shelves sync.Map

func newShelf() *shelf {
	s := &shelf{book: outcomes.NewBook()}
	s.made = map[string]made[struct{}]{}
	s.make = func(j *jobs.Job) struct{} {
		s.book.Put(outcomes.Collect(j))
		return struct{}{}
	}
	return s
}

// OutcomesOf is what a company's jobs came to.
func OutcomesOf(ctx context.Context, r *replica.Replica, company string) (s outcomes.Summary, err error) {
	err = reading(ctx, r, company, func(b *outcomes.Book) { s = b.Summary() })
	return s, err
}

// FactsOf is what each of a company's jobs tells about outcomes.
func FactsOf(ctx context.Context, r *replica.Replica, company string) (fs []outcomes.Facts, err error) {
	err = reading(ctx, r, company, func(b *outcomes.Book) { fs = b.Facts() })
	return fs, err
}

// reading lets read look into the company's book as the record stands.
func reading(ctx context.Context, r *replica.Replica, company string, read func(*outcomes.Book)) error {
	s := keptBy(&shelves, r, company, newShelf)
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.refresh(ctx, r, company); err != nil {
		return err
	}
	read(s.book)
	return nil
}
