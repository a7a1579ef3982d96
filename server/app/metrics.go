package app

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"time"

	"tacet/server/ops"
	"tacet/sync/pause"
)

// serveMetrics serves m at a loopback address until it is stopped. Metrics tell strangers about a firm's habits, so they are never served
// to a network.
func serveMetrics(listen string, m *ops.Metrics, log *slog.Logger) (address string, stop func() error, err error) {
	l, err := net.Listen("tcp", listen)
	if err != nil {
		return "", nil, badFlag("--metrics", listen, err.Error())
	}
	if !onLoopback(l.Addr()) {
		return "", nil, errors.Join(badFlag("--metrics", listen, "give a loopback address such as 127.0.0.1:7412"), l.Close())
	}
	s := &http.Server{Handler: m.Handler(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second}
	go func() {
		if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			log.Error("metrics", "error", err.Error())
		}
	}()
	return l.Addr().String(), s.Close, nil
}

// openCount remembers of each job what was open in it, so that only jobs with something new are looked at again.
type openCount struct {
	seen map[string]openJob
}

type openJob struct {
	total, rev int64 // of the job's mark
	conflicts  int
}

// countOpen counts what waits for somebody, over all companies.
func (r *Running) countOpen(ctx context.Context, o *openCount) (conflicts, held int, err error) {
	companies, err := r.Store.Companies(ctx)
	if err != nil {
		return 0, 0, err
	}
	for _, co := range companies {
		rows, err := r.Replica.Jobs(ctx, co)
		if err != nil {
			return 0, 0, err
		}
		for _, row := range rows {
			held += row.Held
			was, there := o.seen[co+row.ID]
			if !there || was.total != row.Total || was.rev != row.Rev {
				j, err := r.Replica.Job(ctx, co, row.ID)
				if err != nil {
					return 0, 0, err
				}
				was = openJob{row.Total, row.Rev, len(j.Disputes)}
				o.seen[co+row.ID] = was
			}
			conflicts += was.conflicts
		}
	}
	return conflicts, held, nil
}

// watchOpen counts now and every minute until ctx ends.
func (r *Running) watchOpen(ctx context.Context, m *ops.Metrics, log *slog.Logger) {
	o := &openCount{seen: map[string]openJob{}}
	for going := true; going; going = pause.For(ctx, time.Minute) {
		conflicts, held, err := r.countOpen(ctx, o)
		switch {
		case err == nil:
			m.Open(conflicts, held)
		case ctx.Err() == nil:
			log.Error("count what is open", "error", err.Error())
		}
	}
}
