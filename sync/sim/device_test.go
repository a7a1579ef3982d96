package sim

import (
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

type device struct {
	w      *world
	name   string
	id     string
	key    ed25519.PrivateKey
	person string
	role   jobs.Role
	store  *told
	album  *album
	rep    *replica.Replica
	off    time.Duration // of its clock
	saved  map[jobs.Hash]bool
	out    bool // revoked
	line   line
}

// open starts the device's program on what is on its disk.
func (d *device) open() {
	now := func() time.Time { return d.w.at().Add(d.off) }
	d.rep = replica.New(replica.Config{Store: d.plantedFold(), Blobs: d.album, Company: company, Device: d.id, Key: d.key, Now: now, Rand: d.w.rand})
}

func (d *device) author() jobs.Author { return jobs.Author{Person: d.person, Role: d.role} }

// record saves; what the desk refuses is refused, and nothing else may go wrong.
func (d *device) record(job string, edges ...json.RawMessage) {
	es, err := d.rep.Record(ctx, company, d.author(), job, edges)
	var in *jobs.InputError
	if errors.As(err, &in) || errors.Is(err, jobs.ErrRefused) {
		d.w.met["refused at the desk"]++
		return
	}
	if errors.Is(err, errInjected) {
		d.w.met["a save failed"]++
		return
	}
	must(err, "record on "+d.name)
	d.w.gave(es)
	for _, e := range es {
		d.saved[e.Hash] = true
	}
}

// note records a few words.
func (d *device) note(job string) {
	text, err := json.Marshal(map[string]string{"do": "note", "text": d.w.word()})
	must(err, "note")
	d.record(job, text)
}

// sync exchanges once over a line. Only what a line, a full store or a supervisor can be blamed for may go wrong.
func (d *device) sync(l line) error {
	d.line = l
	_, err := d.rep.Sync(ctx, d)
	d.judgeSent()
	switch {
	case err == nil, errors.Is(err, replica.ErrUnreachable), errors.Is(err, replica.ErrBusy), errors.Is(err, replica.ErrSignIn):
		return err
	case errors.Is(err, replica.ErrRevoked):
		if !d.w.revoked[d.id] {
			fail("%s was told that it is revoked", d.name)
		}
		d.out = true
		_, err := d.rep.SendAside(ctx, d)
		if err != nil && !errors.Is(err, replica.ErrUnreachable) && !errors.Is(err, replica.ErrBusy) && !errors.Is(err, replica.ErrSignIn) {
			fail("%s leaves its work: %v", d.name, err)
		}
		d.w.met["left aside"]++
		return err
	case errors.Is(err, replica.ErrLaneForked), errors.Is(err, replica.ErrRunForked), errors.Is(err, replica.ErrEntryDiffers), errors.Is(err, replica.ErrChain):
		d.w.met["found to be a copy"]++
		if !d.w.copied[d.id] {
			fail("%s was told that it is a copy, and never was one: %v", d.name, err)
		}
		d.succeed()
		return err
	}
	fail("exchange of %s: %v", d.name, err)
	return err
}

// succeed goes on as another device, which the server learns of.
func (d *device) succeed() {
	old := d.id
	id, key := d.w.id("d"), d.w.newKey()
	if _, err := d.rep.Succeed(ctx, id, key); err != nil {
		if errors.Is(err, errInjected) {
			return // tried again at the next exchange
		}
		fail("%s goes on: %v", d.name, err)
	}
	d.id, d.key = id, key
	enlist := func() error {
		return d.w.store.Write(ctx, company, func(tx replica.Tx) error {
			return tx.PutDevice(replica.Device{ID: id, Key: pub(key), Person: d.person, NextRun: 1, Was: old})
		})
	}
	err := enlist()
	if errors.Is(err, errInjected) {
		err = enlist() // a store that was told to fail does so once
	}
	must(err, "enlist the successor")
	for h := range d.saved {
		delete(d.saved, h) // those issued again have other hashes now
	}
	var again []jobs.Entry
	for _, e := range d.store.from(d.id) {
		d.saved[e.Hash] = true
		again = append(again, e.Entry)
	}
	d.w.gave(again)
}

// copyDisk is what is on the device's disk now.
func (d *device) copyDisk() image {
	return image{d: d, store: d.store.on.snapshot(), album: maps.Clone(d.album.data), saved: maps.Clone(d.saved), id: d.id, key: d.key}
}

// alive lists the devices that are in use.
func (w *world) alive() []*device {
	return slices.DeleteFunc(slices.Clone(w.devices), func(d *device) bool { return d.out || w.revoked[d.id] })
}
