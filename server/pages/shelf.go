package pages

import (
	"context"
	"errors"
	"sync"

	"tacet/jobs"
	"tacet/jobs/outcomes"
	"tacet/sync/replica"
)

// shelf keeps the outcomes of a company's jobs, so that a page reads anew only the jobs that changed since the last one.
type shelf struct {
	mu   sync.Mutex
	book *outcomes.Book
	seen map[string]readAt
}

// readAt is how a job stood when its facts were read.
type readAt struct {
	entries, held int
	last          jobs.Clock
}

type shelfKey struct {
	record  *replica.Replica
	company string
}

// shelves holds one shelf for each company of each record of the program; a program has one record for as long as it runs.
var shelves sync.Map

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
	got, _ := shelves.LoadOrStore(shelfKey{r, company}, &shelf{book: outcomes.NewBook(), seen: map[string]readAt{}})
	s := got.(*shelf)
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.refresh(ctx, r, company); err != nil {
		return err
	}
	read(s.book)
	return nil
}

func (s *shelf) refresh(ctx context.Context, r *replica.Replica, company string) error {
	rows, err := r.Jobs(ctx, company)
	if err != nil {
		return err
	}
	for _, row := range rows {
		now := readAt{row.Entries, row.Held, row.Last}
		if s.seen[row.ID] == now {
			continue
		}
		if err := s.read(ctx, r, company, row.ID); err != nil {
			return err
		}
		s.seen[row.ID] = now
	}
	// The firm's own job is on no list and is small. A firm that recorded nothing of its own has none.
	err = s.read(ctx, r, company, company)
	if errors.Is(err, replica.ErrNoJob) {
		return nil
	}
	return err
}

func (s *shelf) read(ctx context.Context, r *replica.Replica, company, job string) error {
	j, err := r.Job(ctx, company, job)
	if err != nil {
		return err
	}
	s.book.Put(outcomes.Collect(j))
	return nil
}
