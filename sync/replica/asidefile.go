package replica

import (
	"context"
	"errors"
	"fmt"

	"tacet/jobs"
)

// Why says why bytes may enter no lane.
type Why string

// The reasons.
const (
	WhyRevoked Why = "revoked" // the device was shut out before it sent them
	WhyForked  Why = "forked"  // other entries stand at these places: the device was copied or restored
)

// AsideState is what became of what was set aside.
type AsideState string

// The states.
const (
	AsideKept     AsideState = "kept"
	AsideAdmitted AsideState = "admitted"
	AsideRefused  AsideState = "refused"
)

// Aside is an entry that could not enter its lane. It has no position and is handed on to nobody; a supervisor looks at it.
type Aside struct {
	jobs.Entry
	Why   Why
	At    int64 // ms
	State AsideState
	Says  string
}

// AsideQuota is how much is kept of one device, in bytes: a week's work of text, not a way to fill the disk.
const AsideQuota = 8 << 20

// asideCount is how many records are kept of one device.
const asideCount = 5000

// AsideFrom tells which device a batch for FileAside is of, if it is one of this server's that was revoked. It is asked before
// anything is counted or kept.
func (r *Replica) AsideFrom(ctx context.Context, b Batch) (device string, err error) {
	if len(b.Entries) == 0 {
		return "", refuse(ErrBadFrame, "the batch is empty")
	}
	e, err := parse(b.Entries[0])
	if err != nil {
		return "", err
	}
	d, err := r.Device(ctx, e.Co, e.Dev)
	if err != nil {
		return "", err
	}
	if d.Revoked == 0 {
		return "", refuse(ErrBadFrame, "this device is not revoked; it pushes")
	}
	return d.ID, nil
}

// FileAside keeps what a device sends that was revoked, at the server. Its seals must be by the key that the device had:
// strangers file nothing. Nothing of it enters a lane; a supervisor looks at it.
func (r *Replica) FileAside(ctx context.Context, b Batch) (a Answer, err error) {
	if len(b.Entries) == 0 || len(b.Entries) > MaxBatch || len(b.Seals) > MaxLanes {
		return a, refuse(ErrBadFrame, "%d entries, %d seals", len(b.Entries), len(b.Seals))
	}
	first, err := parse(b.Entries[0])
	if err != nil {
		return a, err
	}
	err = r.store.Write(ctx, first.Co, func(tx Tx) error {
		d, err := tx.Device(first.Dev)
		if err != nil {
			return err
		}
		if d.Revoked == 0 {
			return refuse(ErrBadFrame, "this device is not revoked; it pushes")
		}
		es, err := open(first.Co, Pusher{Device: d.ID, Key: d.Key}, b)
		if err != nil {
			return err
		}
		kept, err := r.setAside(tx, es, WhyRevoked, "sent after the device was revoked")
		a = Answer{Verdicts: make([]Verdict, len(kept)), Time: ms(r.now())}
		for i, k := range kept {
			a.Verdicts[i] = Verdict{ID: k.ID, State: "aside", Says: k.Says}
		}
		return err
	})
	return a, err
}

// setAside keeps the entries that are nowhere else, within the quota of the device.
func (r *Replica) setAside(tx Tx, es []jobs.Entry, why Why, says string) ([]Aside, error) {
	size, err := tx.AsideBytes(es[0].Dev)
	if err != nil {
		return nil, err
	}
	there, err := tx.Asides(es[0].Dev)
	if err != nil {
		return nil, err
	}
	had := map[jobs.Hash]bool{}
	for _, a := range there {
		had[a.Hash] = true
	}
	var as []Aside
	for _, e := range es {
		if _, err := tx.Entry(e.Hash); err == nil {
			continue
		} else if !errors.Is(err, jobs.ErrNotFound) {
			return nil, err
		}
		if had[e.Hash] {
			as = append(as, Aside{Entry: e, Why: why, At: ms(r.now()), State: AsideKept, Says: says})
			continue // said again
		}
		if len(there)+len(as) >= asideCount {
			return nil, refuse(ErrNoSpace, "more than %d records of this device wait for the supervisor", asideCount)
		}
		if size += int64(len(e.Env) + len(e.Data)); size > AsideQuota {
			return nil, refuse(ErrNoSpace, "more than %d MiB of this device wait for the supervisor", AsideQuota>>20)
		}
		as = append(as, Aside{Entry: e, Why: why, At: ms(r.now()), State: AsideKept, Says: says})
	}
	return as, tx.PutAside(as)
}

// Asides lists what was set aside, of one device or of all.
func (r *Replica) Asides(ctx context.Context, co, dev string) (as []Aside, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		as, err = tx.Asides(dev)
		return err
	})
	return as, err
}

// AdmitAside takes what was set aside of a device into its lanes, in its order and without a gap, up to a number; 0 is all.
// There it is held: it is for a supervisor to answer it as anything else that is held. What stands at another's place is
// left. It tells how many were taken.
func (r *Replica) AdmitAside(ctx context.Context, co, dev string, upto int64) (n int, err error) {
	err = r.store.Write(ctx, co, func(tx Tx) error {
		d, err := tx.Device(dev)
		if err != nil {
			return err
		}
		as, err := tx.Asides(dev)
		if err != nil {
			return err
		}
		held := map[jobs.Hash]string{}
		var rows []Stored
		for _, a := range as {
			if a.State != AsideKept || upto > 0 && a.Run > upto {
				continue
			}
			one, err := r.fresh(&ahead{Tx: tx, rows: rows}, []jobs.Entry{a.Entry}, nil, d.NextRun+int64(len(rows)))
			var ref *Refusal
			if errors.As(err, &ref) {
				break // the lane does not go on from here
			}
			if err != nil {
				return err
			}
			rows = append(rows, one...)
			held[a.Hash] = "from a device that was " + string(a.Why)
			if err := tx.SetAside(a.Hash, a.Why, AsideAdmitted, "held for the supervisor's answer"); err != nil {
				return err
			}
		}
		if n = len(rows); n == 0 {
			return nil
		}
		if _, err := r.position(tx, co, rows, held, nil, nil); err != nil {
			return err
		}
		d.NextRun += int64(n)
		if err := tx.PutDevice(d); err != nil {
			return err
		}
		return r.hear(tx, entriesOf(rows))
	})
	return n, err
}

// ahead is a transaction in which entries stand that are not inserted yet.
type ahead struct {
	Tx
	rows []Stored
}

// Lane is the end of a lane, those entries included.
func (a *ahead) Lane(dev, job string) (LaneHead, error) {
	for i := len(a.rows) - 1; i >= 0; i-- {
		if e := a.rows[i]; e.Job == job && e.Dev == dev {
			return LaneHead{Job: job, Seq: e.Seq, H: e.Hash}, nil
		}
	}
	return a.Tx.Lane(dev, job)
}

// RefuseAside notes that nothing more of what was set aside of a device is taken. The bytes stay.
func (r *Replica) RefuseAside(ctx context.Context, co, dev, says string) (n int, err error) {
	err = r.store.Write(ctx, co, func(tx Tx) error {
		n = 0
		as, err := tx.Asides(dev)
		if err != nil {
			return err
		}
		for _, a := range as {
			if a.State != AsideKept {
				continue
			}
			if err := tx.SetAside(a.Hash, a.Why, AsideRefused, says); err != nil {
				return err
			}
			n++
		}
		return nil
	})
	return n, err
}

// SendAside hands what was not sent to the server's keeping, after the server has said that this device is revoked. It is
// said once for the same entries; here they stay as they are.
func (r *Replica) SendAside(ctx context.Context, t Transport) (kept int, err error) {
	me, err := r.home(ctx)
	if err != nil {
		return 0, err
	}
	var list []Stored
	err = r.store.Read(ctx, me.Company, func(tx Tx) error {
		list, err = unplaced(tx, me.Device)
		return err
	})
	if err != nil || len(list) == 0 || !r.newAside(list[len(list)-1].Run) {
		return 0, err
	}
	for len(list) > 0 {
		part := fitting(list[:min(len(list), MaxBatch)], MaxBatchBytes/2)
		b, err := r.batch(part)
		if err != nil {
			return kept, err
		}
		n, err := t.Aside(ctx, b)
		kept += n
		if err != nil {
			return kept, fmt.Errorf("leave with the supervisor: %w", err)
		}
		list = list[len(part):]
	}
	return kept, nil
}

func (r *Replica) newAside(run int64) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.aside >= run {
		return false
	}
	r.aside = run
	return true
}
