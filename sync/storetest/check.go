package storetest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"maps"
	"math/big"
	"slices"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Side is a store that is looked at, and what runs on it.
type Side struct {
	Name    string
	Store   replica.Store
	Replica *replica.Replica   // nil: only the rows are looked at
	Blobs   replica.Blobs      // nil: photos are not looked at
	Saved   map[jobs.Hash]bool // said to be saved here, or to be at the server: each must be there
	Thrifty bool               // leave out what takes long: signatures, and all that is derived made anew

	rows Rows
}

// Rows are the rows as they were when the side was checked last.
func (s *Side) Rows() Rows { return s.rows }

// Check looks at all that must be true of a store at any time, whatever has been cut off: the bytes of entries have their
// hashes and are of this company, lanes and numbers have no gap, no entry is there twice, what was said to be saved is there,
// the log's chain and the states and digests that follow from it are right, a photo that is said to be here is, and what is
// derived equals what is made of the entries anew. It reads rows and works out for itself what they must be; package replica
// is asked only for what it shows. The error names the first thing that is wrong.
func (s *Side) Check(ctx context.Context, co string) (err error) {
	if s.rows, err = ReadRows(ctx, s.Store, co); err != nil {
		return fmt.Errorf("%s: %w", s.Name, err)
	}
	r := s.rows
	for _, check := range []func() error{
		r.bytes, r.lanes, r.numbers, r.log, r.states, r.digests,
		func() error { return r.photos(ctx, s.Blobs) },
		func() error { return r.saved(s.Saved) },
		func() error { return s.foreign(ctx) },
		func() error { return s.derived(ctx) },
	} {
		if err := check(); err != nil {
			return fmt.Errorf("%s: %w", s.Name, err)
		}
	}
	return nil
}

func (r Rows) bytes() error {
	ids := map[string]bool{}
	for h, e := range r.Entries {
		d := sha256.New()
		d.Write([]byte("tacet entry 1\n"))
		d.Write(e.Env)
		if jobs.Hash(d.Sum(nil)) != h || e.Data != nil && sha256.Sum256(e.Data) != e.Body {
			return fmt.Errorf("the bytes of entry %s have another hash", e.ID)
		}
		if !bytes.Contains(e.Env, []byte(`"co":"`+r.Co+`"`)) {
			return fmt.Errorf("entry %s is of another company", e.ID)
		}
		if ids[e.ID] {
			return fmt.Errorf("entry %s is there twice", e.ID)
		}
		ids[e.ID] = true
	}
	return nil
}

func (r Rows) lanes() error {
	type lane struct{ dev, job string }
	lanes := map[lane][]replica.Stored{}
	for _, e := range r.Entries {
		l := lane{e.Dev, e.Job}
		lanes[l] = append(lanes[l], e)
	}
	for l, list := range lanes {
		slices.SortFunc(list, func(a, b replica.Stored) int { return int(a.Seq - b.Seq) })
		var before jobs.Entry
		for i, e := range list {
			if e.Seq != int64(i)+1 || e.Prev != before.Hash || e.Run <= before.Run {
				return fmt.Errorf("lane of %s: place %d, number %d where place %d follows number %d", l.dev, e.Seq, e.Run, i+1, before.Run)
			}
			before = e.Entry
		}
	}
	return nil
}

// numbers: a device numbers its entries over all jobs, 1, 2, 3 …; a server has all of them from each device, a device its own.
func (r Rows) numbers() error {
	runs := map[string][]int64{}
	for _, e := range r.Entries {
		if r.Me == nil || e.Dev == r.Me.Device {
			runs[e.Dev] = append(runs[e.Dev], e.Run)
		}
	}
	for dev, list := range runs {
		slices.Sort(list)
		for i, n := range list {
			if n != int64(i)+1 {
				return fmt.Errorf("number %d of %s where %d follows", n, dev, i+1)
			}
		}
		if next := r.Devices[dev].NextRun; next != int64(len(list))+1 {
			return fmt.Errorf("the next number of %s is %d after %d entries", dev, next, len(list))
		}
	}
	return nil
}

// log works out the chain of the log anew. A device keeps no log.
func (r Rows) log() error {
	var head jobs.Hash
	for i, a := range r.Acts {
		d := sha256.New()
		d.Write([]byte("tacet log 1\n"))
		d.Write(head[:])
		fmt.Fprintf(d, "%d\n%s\n", i+1, a.Act)
		d.Write(a.H[:])
		head = jobs.Hash(d.Sum(nil))
		if a.N != int64(i)+1 || a.Head != head {
			return fmt.Errorf("act %d of the log", i+1)
		}
	}
	if r.Seq.N != int64(len(r.Acts)) || r.Seq.Head != head {
		return fmt.Errorf("the log ends at %d, %d acts are there", r.Seq.N, len(r.Acts))
	}
	return nil
}

// meaning is the state that an entry is in after its last act.
var meaning = map[string]replica.State{"stand": replica.Standing, "admit": replica.Standing, "hold": replica.Held, "withdraw": replica.Held, "refuse": replica.Refused}

// states: at a server, each entry is in the log and where its last act has put it.
func (r Rows) states() error {
	if r.Me != nil {
		return nil
	}
	last := map[jobs.Hash]string{}
	for _, a := range r.Acts {
		last[a.H] = a.Act
	}
	for h, e := range r.Entries {
		if e.State != meaning[last[h]] {
			return fmt.Errorf("entry %s is %s, its last act is %q", e.ID, e.State, last[h])
		}
	}
	return nil
}

func (r Rows) digests() error {
	sums, counts := map[string]*big.Int{}, map[string]int64{}
	for h, e := range r.Entries {
		if sums[e.Job] == nil {
			sums[e.Job] = new(big.Int)
		}
		if e.State == replica.Standing {
			sums[e.Job].Add(sums[e.Job], new(big.Int).SetBytes(h[:]))
			counts[e.Job]++
		}
	}
	for job, sum := range sums {
		sum.Mod(sum, new(big.Int).Lsh(big.NewInt(1), 256))
		m := r.Marks[job]
		if m.Count != counts[job] || new(big.Int).SetBytes(m.Sum[:]).Cmp(sum) != 0 {
			return fmt.Errorf("job %s: %d entries stand, the digest says %d", job, counts[job], m.Count)
		}
	}
	return nil
}

func (r Rows) photos(ctx context.Context, blobs replica.Blobs) error {
	here := map[string]map[jobs.Hash]bool{}
	for _, p := range r.Photos {
		if here[p.Job] == nil {
			here[p.Job] = map[jobs.Hash]bool{}
		}
		here[p.Job][p.H] = true
		if !p.Here || blobs == nil {
			continue
		}
		data, err := blobs.Get(ctx, r.Co, p.H)
		if err != nil {
			return fmt.Errorf("photo %s, which is said to be here: %w", p.H, err)
		}
		if jobs.HashBlob(data) != p.H {
			return fmt.Errorf("photo %s, which is said to be here, is another", p.H)
		}
	}
	for _, e := range r.Entries {
		for _, h := range e.Blobs {
			if !here[e.Job][h] {
				return fmt.Errorf("nobody knows of photo %s, which entry %s names", h, e.ID)
			}
		}
	}
	return nil
}

// saved: what a person was told is kept. What was issued again lies aside in its old form.
func (r Rows) saved(said map[jobs.Hash]bool) error {
	aside := map[jobs.Hash]bool{}
	for _, a := range r.Asides {
		aside[a.Hash] = true
	}
	for h := range said {
		if _, ok := r.Entries[h]; !ok && !aside[h] {
			return fmt.Errorf("entry %s, which was said to be saved, is gone", h)
		}
	}
	return nil
}

// foreign: what one company holds, no other does.
func (s *Side) foreign(ctx context.Context) error {
	cos, err := s.Store.Companies(ctx)
	if err != nil {
		return err
	}
	for _, co := range cos {
		if co == s.rows.Co {
			continue
		}
		other, err := ReadRows(ctx, s.Store, co)
		if err != nil {
			return err
		}
		if err := other.bytes(); err != nil {
			return err
		}
		for h, e := range other.Entries {
			if _, ok := s.rows.Entries[h]; ok {
				return fmt.Errorf("entry %s is in two companies", e.ID)
			}
		}
	}
	return nil
}

// counts tells whether an entry in this state is part of the job as it is shown.
var counts = map[replica.State]bool{replica.Standing: true, replica.Unsent: true, replica.Sent: true, replica.ToConfirm: true}

// derived makes every job anew of its entries, in another order, and compares it with what the replica shows.
func (s *Side) derived(ctx context.Context) error {
	if s.Replica == nil || s.Thrifty {
		return nil
	}
	for job := range s.rows.Marks {
		if job == s.rows.Co {
			continue
		}
		var es []jobs.Entry
		for _, e := range slices.Backward(s.rows.job(job)) {
			if counts[e.State] {
				es = append(es, e.Entry)
			}
		}
		anew, err := jobs.Fold(job, s.rows.Co, es).Export()
		if err != nil {
			return err
		}
		shown, err := export(s.Replica.Job(ctx, s.rows.Co, job))
		if err != nil {
			return err
		}
		if !bytes.Equal(shown, anew) {
			return fmt.Errorf("job %s is shown other than its entries say", job)
		}
		if _, err := s.Replica.Prove(ctx, s.rows.Co, job); err != nil {
			return err
		}
	}
	if s.rows.Me == nil {
		if _, err := s.Replica.VerifyLog(ctx, s.rows.Co); err != nil {
			return err
		}
	}
	_, err := s.Replica.Rebuild(ctx)
	return err
}

// Agree looks at what must be true once everything has been exchanged: a device has read the log to its end, holds as standing
// what stands at the server, shows the same job to the byte, and each entry that was said to be saved is at the server once,
// or lies aside. Both sides are checked first.
func Agree(ctx context.Context, co string, server *Side, devices ...*Side) error {
	if err := server.Check(ctx, co); err != nil {
		return err
	}
	for _, d := range devices {
		if err := d.Check(ctx, co); err != nil {
			return err
		}
		if err := d.agrees(ctx, server); err != nil {
			return fmt.Errorf("%s: %w", d.Name, err)
		}
	}
	return nil
}

func (s *Side) agrees(ctx context.Context, server *Side) error {
	at, srv := s.rows.Me.Cursor, server.rows
	if at.N != srv.Seq.N || at.Head != srv.Seq.Head {
		return fmt.Errorf("the log was read up to %d, it ends at %d", at.N, srv.Seq.N)
	}
	here, there := s.rows.Standing(), srv.Standing()
	if !maps.Equal(here, there) {
		return fmt.Errorf("%d entries stand here, %d at the server", len(here), len(there))
	}
	if err := srv.saved(s.issuedLast()); err != nil {
		return fmt.Errorf("at the server, %w", err)
	}
	if s.Replica == nil || server.Replica == nil {
		return nil
	}
	for job := range srv.Marks {
		if job == srv.Co {
			continue
		}
		want, err := export(server.Replica.Job(ctx, srv.Co, job))
		if err != nil {
			return err
		}
		shown := s.Replica.Settled
		if s.Thrifty {
			shown = s.Replica.Job // is at hand, and the same once nothing is on its way
		}
		got, err := export(shown(ctx, srv.Co, job))
		if err != nil {
			return err
		}
		if !bytes.Equal(got, want) && !(s.Thrifty && s.rows.waits()) {
			return fmt.Errorf("job %s is another than at the server", job)
		}
	}
	return nil
}

// issuedLast is what was said to be saved, without what was issued again under another hash.
func (s *Side) issuedLast() map[jobs.Hash]bool {
	said := maps.Clone(s.Saved)
	for _, a := range s.rows.Asides {
		delete(said, a.Hash)
	}
	return said
}

// waits tells whether something here is shown that does not stand at the server.
func (r Rows) waits() bool {
	for _, e := range r.Entries {
		if e.State != replica.Standing && counts[e.State] {
			return true
		}
	}
	return false
}

func export(j *jobs.Job, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	return j.Export()
}
