package pages

import (
	"context"
	"errors"
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
}

func (w working) Error() string { return "reading " + itoa(w.Done) + " of " + itoa(w.Of) + " jobs" }

// ready is nil when a page may be made now; else the jobs are being read, and the error says how far.
func (k *kept[T]) ready(ctx context.Context, r *replica.Replica, company string, log *slog.Logger) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.busy != nil {
		return *k.busy
	}
	stale, err := k.stale(ctx, r, company)
	if err != nil || len(stale) <= readAtOnce {
		return err
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
	at  readAt
	is  T
	own bool // of the firm's own job
}

// readAt is how a job stood when something was made of it.
type readAt struct {
	entries, held int
	last          jobs.Clock
}

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
	for _, row := range stale {
		j, err := r.Job(ctx, company, row.ID)
		if err != nil {
			return err
		}
		k.made[row.ID] = made[T]{at: markOf(row), is: k.make(j)}
	}
	// The firm's own job is on no list and is small. A firm that recorded nothing of its own has none.
	j, err := r.Job(ctx, company, company)
	if errors.Is(err, replica.ErrNoJob) {
		return nil
	}
	if err != nil {
		return err
	}
	if at := (readAt{entries: len(j.Records), held: len(j.Held())}); k.made[company].at != at || !k.made[company].own {
		k.made[company] = made[T]{at: at, is: k.make(j), own: true}
	}
	return nil
}

func markOf(row replica.JobRow) readAt { return readAt{row.Entries, row.Held, row.Last} }

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
