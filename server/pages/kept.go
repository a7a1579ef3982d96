package pages

import (
	"context"
	"log/slog"
	"sync"

	"tacet/jobs"
	"tacet/sync/replica"
)

// kept holds what was made of each job of a company, with the mark of the job that it was made of: a page folds anew only the jobs
// that changed since the last one. It can be made again at any time and is nowhere written down.
type kept[T any] struct {
	mu   sync.Mutex
	made map[string]made[T]
	// make makes it of one job.
	make func(*jobs.Job) T
	busy *working // while the jobs are read in the background
}

// readAtOnce is how many jobs a page reads before it answers. More are read in the background, and the page says how far that is.
const readAtOnce = 40

// working says that what a page shows is still being read.
type working struct {
	Done, Of int
	Paper    bool   // photos are put into a paper, not jobs read
	Stop     string // where it is stopped; "" where it is not
}

func (w working) Error() string { return "reading " + itoa(w.Done) + " of " + itoa(w.Of) + " jobs" }

// ready makes what is missing and is nil, so that a page may be made now; where much is missing, the jobs are being read beside it, and
// the error says how far.
func (k *kept[T]) ready(ctx context.Context, r *replica.Replica, company string, log *slog.Logger) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.busy != nil {
		return *k.busy
	}
	if err := listReady(ctx, r, company, log); err != nil {
		return err
	}
	stale, err := k.stale(ctx, r, company)
	if err != nil {
		return err
	}
	if len(stale) <= readAtOnce {
		return k.renew(ctx, r, company, stale)
	}
	k.busy = &working{Of: len(stale)}
	go func() {
		if err := k.read(context.WithoutCancel(ctx), r, company, stale); err != nil {
			log.Warn("reading jobs ended early; the next page goes on", "error", err.Error())
		}
	}()
	return *k.busy
}

// read makes what is missing, one job at a time, so that a page in between sees how far it is.
func (k *kept[T]) read(ctx context.Context, r *replica.Replica, company string, stale []replica.JobRow) error {
	defer func() {
		k.mu.Lock()
		k.busy = nil
		k.mu.Unlock()
	}()
	for i, row := range stale {
		j, err := r.Job(ctx, company, row.ID)
		if err != nil {
			return err
		}
		k.mu.Lock()
		k.made[row.ID], k.busy.Done = made[T]{at: markOf(row), is: k.make(j)}, i+1
		k.mu.Unlock()
	}
	return nil
}

type made[T any] struct {
	at readAt
	is T
}

// readAt is the mark at which a job stood when something was made of it. The revision is part of it: an entry that is held, admitted or
// refused changes a job that has as many entries as before, and so does a key that is thrown away.
type readAt struct{ total, rev int64 }

type keptKey struct {
	record  *replica.Replica
	company string
}

// keptBy finds what is kept for a company of a record, in one of the maps below; a program has one record for as long as it runs.
func keptBy[K any](all *sync.Map, r *replica.Replica, company string, empty func() *K) *K {
	key := keptKey{r, company}
	if got, ok := all.Load(key); ok {
		return got.(*K)
	}
	got, _ := all.LoadOrStore(key, empty())
	return got.(*K)
}

// refresh makes what is missing or was made of another state of its job, and forgets what has no job any more. The caller holds mu.
func (k *kept[T]) refresh(ctx context.Context, r *replica.Replica, company string) error {
	stale, err := k.stale(ctx, r, company)
	if err != nil {
		return err
	}
	return k.renew(ctx, r, company, stale)
}

// renew reads the stale jobs, and the firm's own. The caller holds mu.
func (k *kept[T]) renew(ctx context.Context, r *replica.Replica, company string, stale []replica.JobRow) error {
	for _, row := range stale {
		j, err := r.Job(ctx, company, row.ID)
		if err != nil {
			return err
		}
		k.made[row.ID] = made[T]{at: markOf(row), is: k.make(j)}
	}
	// The firm's own job is on no list and is small. A firm that recorded nothing of its own has none.
	m, err := r.Mark(ctx, company, company)
	if err != nil || m.Total == 0 || k.made[company].at == (readAt{m.Total, m.Rev}) {
		return err
	}
	j, err := r.Job(ctx, company, company)
	if err != nil {
		return err
	}
	k.made[company] = made[T]{at: readAt{m.Total, m.Rev}, is: k.make(j)}
	return nil
}

func markOf(row replica.JobRow) readAt { return readAt{row.Total, row.Rev} }

// stale lists the jobs that have to be read.
func (k *kept[T]) stale(ctx context.Context, r *replica.Replica, company string) ([]replica.JobRow, error) {
	rows, err := r.Jobs(ctx, company)
	if err != nil {
		return nil, err
	}
	var stale []replica.JobRow
	here := map[string]bool{company: true}
	for _, row := range rows {
		here[row.ID] = true
		if m, ok := k.made[row.ID]; !ok || m.at != markOf(row) {
			stale = append(stale, row)
		}
	}
	for id := range k.made {
		if !here[id] {
			delete(k.made, id)
		}
	}
	return stale, nil
}
