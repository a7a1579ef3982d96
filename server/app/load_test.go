package app_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// load is devices that record and exchange without end, while something is done to the server; only "later" and "no connection" may be
// said to them.
type load struct {
	w       *world
	stop    chan struct{}
	devices sync.WaitGroup

	mu      sync.Mutex
	kept    map[string]string // entry to job: the server has said that it has it
	longest time.Duration     // from one confirmed entry of a device to its next
}

func (w *world) underLoad(devices int) *load {
	l := &load{w: w, stop: make(chan struct{}), kept: map[string]string{}}
	for i := range devices {
		d := w.enrol(w.co, fmt.Sprintf("m.reed%d", i), jobs.Site)
		r := d.record()
		job := d.importJob(r)
		d.sync(r)
		l.devices.Go(func() { l.work(d, r, job) })
	}
	return l
}

func (l *load) work(d *tablet, r *replica.Replica, job string) {
	t, last := l.w.t, time.Now()
	for {
		select {
		case <-l.stop:
			return
		default:
		}
		es, err := r.Record(t.Context(), l.w.co.ID, d.author(), job, edges(`{"do":"note","text":"recorded under load"}`))
		if err != nil {
			t.Error(err)
			return
		}
		for {
			rep, err := r.Sync(t.Context(), d.http)
			if err == nil && rep.Waiting == 0 {
				break
			}
			if err != nil && !errors.Is(err, replica.ErrBusy) && !errors.Is(err, replica.ErrUnreachable) && !errors.Is(err, replica.ErrSlowDown) {
				t.Errorf("exchange: %v\n%s", err, errorsOf(l.w.log.String()))
				return
			}
			time.Sleep(20 * time.Millisecond) // as a device does, though sooner
		}
		l.mu.Lock()
		for _, e := range es {
			l.kept[e.ID] = job
		}
		l.longest = max(l.longest, time.Since(last))
		last = time.Now()
		l.mu.Unlock()
	}
}

func (l *load) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.kept)
}

// end stops the devices and looks whether what was confirmed is there, once, and whether the record is whole.
func (l *load) end() (confirmed int, longest time.Duration) {
	t := l.w.t
	t.Helper()
	close(l.stop)
	l.devices.Wait()
	if strings.Contains(l.w.log.String(), `"msg":"panic"`) {
		t.Error("something broke inside")
	}
	server := &storetest.Side{Name: "the server", Store: l.w.Store, Replica: l.w.Replica, Blobs: l.w.Blobs}
	if err := server.Check(t.Context(), l.w.co.ID); err != nil {
		t.Error(err)
	}
	has := map[string]int{}
	for _, e := range server.Rows().Entries {
		if e.State == replica.Standing {
			has[e.ID]++
		}
	}
	for id := range l.kept {
		if has[id] != 1 {
			t.Errorf("entry %s, which was confirmed, is there %d times", id, has[id])
		}
	}
	return len(l.kept), l.longest
}
