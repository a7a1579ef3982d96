package replica

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"time"

	"tacet/jobs"
)

// maxAhead is how far another clock may be ahead of the wall before it is not merged: one device a year ahead must not
// drag along every clock of the firm.
const maxAhead = 10 * time.Minute

// pen writes entries into the lanes of this replica's device. All that it draws, place in the lane, running number and
// clock, is drawn inside the transaction that saves: several processes may share a home.
type pen struct {
	tx   Tx
	co   string
	key  ed25519.PrivateKey
	dev  Device
	me   Me
	seen jobs.Seen
	ends map[string]LaneHead
	runs map[string]int64 // run of the last entry of each lane touched
}

func (r *Replica) pen(tx Tx, co string) (*pen, error) {
	dev, key := r.identity()
	p := &pen{tx: tx, co: co, key: key, ends: map[string]LaneHead{}, runs: map[string]int64{}}
	var err error
	if p.dev, err = r.ownDevice(tx, dev, key); err != nil {
		return nil, err
	}
	if r.authority {
		seq, err := tx.Seq()
		p.seen = jobs.Seen{Epoch: seq.Epoch, N: seq.N}
		return p, err
	}
	if p.me, err = tx.Me(); err != nil {
		return nil, err
	}
	if p.me.Device != dev {
		return nil, ErrSuperseded // by another process of this home
	}
	p.seen = jobs.Seen{Epoch: p.me.Cursor.Epoch, N: p.me.Cursor.N}
	return p, nil
}

func (r *Replica) ownDevice(tx Tx, id string, key ed25519.PrivateKey) (Device, error) {
	d, err := tx.Device(id)
	if !errors.Is(err, jobs.ErrNotFound) {
		return d, err
	}
	pub, ok := key.Public().(ed25519.PublicKey)
	if !ok {
		return d, fmt.Errorf("device %s has no key", id)
	}
	return Device{ID: id, Key: pub, NextRun: 1, Enrolled: ms(r.now())}, nil
}

// write makes an entry of env, which lacks its place, and body, and moves the ends on. It saves nothing.
func (p *pen) write(env jobs.Envelope, body []byte) (jobs.Entry, error) {
	end, ok := p.ends[env.Job]
	if !ok {
		var err error
		if end, err = p.tx.Lane(p.dev.ID, env.Job); err != nil {
			return jobs.Entry{}, err
		}
	}
	env.Co, env.Dev, env.Off = p.co, p.dev.ID, p.me.Off
	env.Seq, env.Prev, env.Run = end.Seq+1, end.H, p.dev.NextRun
	e, err := jobs.NewEntry(env, body)
	if err != nil {
		return jobs.Entry{}, fmt.Errorf("write entry of job %s: %w", env.Job, err)
	}
	p.dev.NextRun++
	p.ends[env.Job] = LaneHead{Job: env.Job, Seq: e.Seq, H: e.Hash}
	p.runs[env.Job] = e.Run
	return e, nil
}

// tick gives the next clock.
func (p *pen) tick(now time.Time) jobs.Clock {
	p.dev.Clk = p.dev.Clk.Next(now)
	return p.dev.Clk
}

// seal signs the end of a lane that was written.
func (p *pen) seal(job string) (Seal, error) {
	end := p.ends[job]
	s := Seal{Co: p.co, Dev: p.dev.ID, Job: job, Seq: end.Seq, H: end.H, Run: p.runs[job]}
	return s, s.Sign(p.key)
}

// merge moves a device's clock behind one it has heard, unless that one is far ahead of the wall.
func merge(own, heard jobs.Clock, now time.Time) jobs.Clock {
	if heard.Time().After(now.Add(maxAhead)) {
		return own
	}
	return max(own, heard)
}
