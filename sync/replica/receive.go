package replica

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"tacet/jobs"
)

// Receive is the door for what a device sends, at the server. Every entry ends up standing or held; the batch as a whole
// is refused only where chain, seal or device are not right, and then nothing of it is kept. A batch that was sent
// before is known, with equal receipts.
func (r *Replica) Receive(ctx context.Context, co string, who Pusher, b Batch) (Answer, error) {
	es, err := open(co, who, b)
	if err != nil {
		return Answer{}, err
	}
	in := r.receiving(co, es)
	defer in.leave()
	if err := in.judge(ctx, r.store, co, &who); err != nil {
		return Answer{}, err
	}
	var answer Answer
	err = r.store.Write(ctx, co, func(tx Tx) error {
		if err := in.recheck(tx); err != nil {
			return err
		}
		answer, err = r.take(tx, co, who, es, in, b.Seals)
		return err
	})
	if err != nil {
		return Answer{}, fmt.Errorf("receive from device %s: %w", who.Device, err)
	}
	in.saved(answer)
	if err := r.afterErasing(ctx, co); err != nil {
		return Answer{}, err
	}
	_, key := r.identity()
	for i := range answer.Receipts {
		if err := answer.Receipts[i].Sign(key); err != nil {
			return Answer{}, err
		}
	}
	answer.Time = ms(r.now())
	return answer, nil
}

// open checks all that needs no database: limits, bytes, hashes, that the batch continues itself, and the seals.
func open(co string, who Pusher, b Batch) ([]jobs.Entry, error) {
	if len(b.Entries) == 0 {
		return nil, refuse(ErrBadFrame, "the batch is empty")
	}
	if len(b.Entries) > MaxBatch || len(b.Seals) > MaxLanes {
		return nil, ErrTooLarge
	}
	size := 0
	for _, raw := range b.Entries {
		size += len(raw.Env) + len(raw.Body)
	}
	if size > MaxBatchBytes {
		return nil, ErrTooLarge
	}
	es := make([]jobs.Entry, len(b.Entries))
	errs := make([]error, len(es))
	onAllCores(len(es), func(i int) {
		es[i], errs[i] = parseAndRead(b.Entries[i])
	})
	ends := map[string]jobs.Entry{}
	for i, e := range es {
		if errs[i] != nil {
			return nil, errs[i]
		}
		if e.Data == nil {
			return nil, refuse(ErrBadFrame, "entry %s comes without its body", e.ID)
		}
		if e.Co != co || e.Dev != who.Device {
			return nil, refuse(ErrBadFrame, "entry %s is of another company or device", e.ID)
		}
		if i > 0 && e.Run != es[i-1].Run+1 {
			return nil, &Refusal{Err: ErrExpectedRun, NextRun: es[i-1].Run + 1}
		}
		if before, ok := ends[e.Job]; ok && (e.Seq != before.Seq+1 || e.Prev != before.Hash) {
			return nil, &Refusal{Err: ErrChain, Job: e.Job, Seq: e.Seq}
		}
		ends[e.Job] = e
	}
	return es, checkSeals(co, who, ends, b.Seals)
}

// parse reads an entry that arrives, and checks all that needs no other entry.
func parse(raw Raw) (jobs.Entry, error) {
	e, err := parseBytes(raw)
	if err == nil {
		err = keyFits(e)
	}
	return e, err
}

// parseAndRead is parse for whoever goes on with what the body says: it is read once, and says meanwhile whether the key opens it.
func parseAndRead(raw Raw) (jobs.Entry, error) {
	e, err := parseBytes(raw)
	if err == nil {
		e.ReadBody()
		err = keyFits(e)
	}
	return e, err
}

func parseBytes(raw Raw) (jobs.Entry, error) {
	e, err := jobs.ParseEntry(raw.Env, raw.Body)
	switch {
	case err == nil:
		e.Key = raw.Key
		return e, nil
	case errors.Is(err, jobs.ErrHash):
		return e, &Refusal{Err: ErrBadHash, Says: err.Error()}
	case strings.Contains(err.Error(), "not canonical"):
		return e, &Refusal{Err: ErrNotCanonical, Says: err.Error()}
	}
	return e, &Refusal{Err: ErrBadFrame, Says: err.Error()}
}

// keyFits refuses an entry whose key is not that of what is sealed in it.
func keyFits(e jobs.Entry) error {
	if e.Key != nil && !e.OpenedBy(e.Key) {
		return refuse(ErrBadFrame, "the key that came with entry %s does not open it", e.ID)
	}
	return nil
}

// checkSeals wants exactly one seal by the device's key on the end of each lane of the batch.
func checkSeals(co string, who Pusher, ends map[string]jobs.Entry, seals []Seal) error {
	if len(seals) != len(ends) {
		return refuse(ErrBadSeal, "%d lanes, %d seals", len(ends), len(seals))
	}
	done := map[string]bool{}
	for _, s := range seals {
		e, ok := ends[s.Job]
		if !ok || done[s.Job] || s.Co != co || s.Dev != who.Device || s.Seq != e.Seq || s.H != e.Hash || s.Run != e.Run {
			return &Refusal{Err: ErrBadSeal, Job: s.Job, Seq: s.Seq}
		}
		if !s.Verify(who.Key) {
			return &Refusal{Err: ErrBadSeal, Job: s.Job, Seq: s.Seq, Says: "the signature is not by the key of this device"}
		}
		done[s.Job] = true
	}
	return nil
}

// rulings lists the kinds that speak for a supervisor. On a tablet that several people share, they stand only if the
// one who is named has signed in for this push.
var rulings = map[string]bool{"admission": true, "audit": true, "release": true, "ruling": true}

// may checks who an entry says has recorded it.
func (p Pusher) may(e jobs.Entry) error {
	role, ok := p.Persons[e.By]
	if !ok {
		return &jobs.RuleError{Says: "the person named is not enrolled on this device"}
	}
	if role != e.Role {
		return &jobs.RuleError{Says: fmt.Sprintf("the person named is %s, not %s", role, e.Role)}
	}
	if rulings[e.Kind] && e.By != p.Person && len(p.Persons) > 1 {
		return &jobs.RuleError{Says: "on a shared device, the person who rules must be the one who is signed in"}
	}
	return nil
}

// take is the transaction of a push, under the company's lock.
func (r *Replica) take(tx Tx, co string, who Pusher, es []jobs.Entry, in *incoming, seals []Seal) (Answer, error) {
	if err := active(tx, who.Device); err != nil {
		return Answer{}, err
	}
	dev, err := tx.Device(who.Device)
	if errors.Is(err, jobs.ErrNotFound) {
		dev, err = Device{ID: who.Device, Key: who.Key, Person: who.Person, NextRun: 1, Enrolled: ms(r.now())}, nil
	}
	if err != nil {
		return Answer{}, err
	}
	if !dev.Key.Equal(who.Key) {
		return Answer{}, &Refusal{Err: ErrBadSeal, Says: "the device enrolled with another key"}
	}
	ids := make([]string, len(es))
	for i, e := range es {
		ids[i] = e.ID
	}
	known, err := tx.Known(ids)
	if err != nil {
		return Answer{}, err
	}
	rows, err := r.fresh(tx, es, known, dev.NextRun)
	if err != nil {
		return Answer{}, err
	}
	dev.NextRun += int64(len(rows))
	if _, err := r.position(tx, co, rows, in.held, in.refused, seals); err != nil {
		return Answer{}, err
	}
	// written even if all is known: a retry must not be confirmed by a server that only reads what it may yet lose
	if err := tx.PutDevice(dev); err != nil {
		return Answer{}, err
	}
	if err := r.hear(tx, es); err != nil {
		return Answer{}, err
	}
	return r.answer(tx, es, known, rows, in.held, seals)
}

// fresh gives the entries that are new, if they continue their lanes and the device's numbers without a gap.
func (r *Replica) fresh(tx Tx, es []jobs.Entry, known map[string]Known, nextRun int64) ([]Stored, error) {
	ends := map[string]LaneHead{}
	rows := make([]Stored, 0, len(es))
	for _, e := range es {
		if k, ok := known[e.ID]; ok {
			if k.H != e.Hash {
				return nil, &Refusal{Err: ErrEntryDiffers, Job: e.Job, Seq: e.Seq, H: k.H}
			}
			continue
		}
		end, ok := ends[e.Job]
		if !ok {
			var err error
			if end, err = tx.Lane(e.Dev, e.Job); err != nil {
				return nil, err
			}
		}
		switch {
		case e.Seq <= end.Seq:
			at, err := tx.At(e.Dev, e.Job, e.Seq)
			if err != nil {
				return nil, err
			}
			return nil, &Refusal{Err: ErrLaneForked, Job: e.Job, Seq: e.Seq, H: at.H}
		case e.Run < nextRun:
			return nil, &Refusal{Err: ErrRunForked, Job: e.Job, Seq: e.Seq}
		case e.Run > nextRun:
			return nil, &Refusal{Err: ErrExpectedRun, NextRun: nextRun}
		case e.Seq > end.Seq+1 || e.Prev != end.H:
			return nil, &Refusal{Err: ErrChain, Job: e.Job, Seq: end.Seq + 1, H: end.H}
		}
		nextRun++
		ends[e.Job] = LaneHead{Job: e.Job, Seq: e.Seq, H: e.Hash}
		rows = append(rows, Stored{Entry: e})
	}
	return rows, nil
}

// hear moves the server's own clock behind what it has been told, and notes the photos that were named.
func (r *Replica) hear(tx Tx, es []jobs.Entry) error {
	id, key := r.identity()
	own, err := r.ownDevice(tx, id, key)
	if err != nil {
		return err
	}
	now := r.now()
	for _, e := range es {
		own.Clk = merge(own.Clk, e.Clk, now)
		if err := wantPhotos(tx, e); err != nil {
			return err
		}
	}
	return tx.PutDevice(own)
}

func (r *Replica) answer(tx Tx, es []jobs.Entry, known map[string]Known, rows []Stored, held map[jobs.Hash]string, seals []Seal) (Answer, error) {
	a := Answer{Verdicts: make([]Verdict, 0, len(es))}
	for _, e := range es {
		v := Verdict{ID: e.ID}
		if len(rows) > 0 && rows[0].ID == e.ID { // what is new, in the order in which it came
			v.State, v.N = rows[0].State, rows[0].N
			rows = rows[1:]
		} else {
			v.State, v.N, v.Known = known[e.ID].State, known[e.ID].N, true
		}
		if v.State == Held {
			v.Says = held[e.Hash]
		}
		a.Verdicts = append(a.Verdicts, v)
	}
	for _, s := range seals {
		kept, err := tx.SealAt(s.Dev, s.Job, s.Seq)
		if err != nil {
			return Answer{}, err
		}
		if kept.Receipt == nil || kept.H != s.H {
			return Answer{}, &Refusal{Err: ErrLaneForked, Job: s.Job, Seq: s.Seq, H: kept.H}
		}
		a.Receipts = append(a.Receipts, *kept.Receipt)
	}
	return a, nil
}

// inTime tells whether a wall clock of the other side is one we can count with.
func inTime(at int64) bool {
	return at > 0 && at < time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC).UnixMilli()
}
