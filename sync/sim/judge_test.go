package sim

import (
	"slices"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// judge looks at what is on the disks after all faults have ended and everybody has exchanged: what must be true of any
// server and its devices, and then what these schedules in particular can break.
func (w *world) judge() {
	turn := int(w.seed % 4) // who is looked at closely, where not everybody is
	server := &storetest.Side{Name: "the server", Store: w.store.on, Replica: w.servers[0], Blobs: w.album, Thrifty: !w.deep && turn != 3}
	var sides []*storetest.Side
	for i, d := range w.alive() {
		thrifty := !w.deep && i != turn
		sides = append(sides, &storetest.Side{Name: d.name, Store: d.store.on, Replica: d.rep, Blobs: d.album, Saved: d.saved, Thrifty: thrifty})
	}
	must(storetest.Agree(ctx, company, server, sides...), "what must be true")
	srv := server.Rows()
	for i, d := range w.alive() {
		w.judgeStates(d, sides[i].Rows(), srv)
		w.judgeShown(d)
	}
	for _, d := range w.devices {
		if w.revoked[d.id] {
			side := storetest.Side{Name: d.name, Store: d.store.on, Blobs: d.album, Saved: d.saved}
			must(side.Check(ctx, company), "what must be true of a revoked device")
		}
	}
	w.judgeRevoked(srv)
	w.judgeClock(srv)
	w.judgeWords(srv)
}

// judgeStates: nothing is left on its way, and nobody reads what is held of another.
func (w *world) judgeStates(d *device, here, srv storetest.Rows) {
	for h, e := range here.Entries {
		if e.State == replica.ToConfirm && w.gone(e.Dev) {
			continue // nobody is left who could send it; it stays visible, to be confirmed
		}
		if e.State == replica.Unsent || e.State == replica.Sent || e.State == replica.ToConfirm {
			fail("%s: entry %s is %s after everything", d.name, e.ID, e.State)
		}
		if w.met["a server was restored"] == 0 && d.id != e.Dev && e.Data != nil && onlyHeld(srv, h) && !wrote(here, d.id, e.Dev) {
			fail("%s can read what is held of another: %s", d.name, e.ID)
		}
	}
}

// gone tells whether nobody writes under an id any more.
func (w *world) gone(dev string) bool {
	return !slices.ContainsFunc(w.alive(), func(d *device) bool { return d.id == dev })
}

// wrote tells whether a device has had another id, under which it wrote.
func wrote(here storetest.Rows, id, dev string) bool {
	for id != "" {
		own, ok := here.Devices[id]
		if !ok {
			return false
		}
		if id = own.Was; id == dev {
			return true
		}
	}
	return false
}

// onlyHeld tells whether an entry was never let stand.
func onlyHeld(srv storetest.Rows, h jobs.Hash) bool {
	held := false
	for _, a := range srv.Acts {
		if a.H == h {
			if a.Act != "hold" && a.Act != "refuse" {
				return false
			}
			held = true
		}
	}
	return held
}

// judgeSent: what a device holds as sent, or as confirmed, is at the server, unless the server has gone back since.
func (d *device) judgeSent() {
	if d.w.met["a server was restored"] > 0 || d.w.copied[d.id] {
		return
	}
	for _, e := range d.store.from(d.id) {
		if e.State != replica.Unsent && e.State != replica.ToConfirm && !d.w.store.has(e.Hash) {
			fail("%s holds entry %s as %s, %s", d.name, e.ID, e.State, hasNot)
		}
	}
}

// judgeWentBack: a standby that lags behind a device tells nobody that the server has gone back.
func (d *device) judgeWentBack() {
	if d.w.met["a server was restored"] > 0 || d.w.copied[d.id] || d.w.met["a standby took over"] > 0 {
		return
	}
	for _, e := range look(d.store, func(tx replica.Tx) ([]replica.Stored, error) { return tx.InState(replica.ToConfirm, "", 1) }) {
		fail("%s has entry %s to confirm: it %s", d.name, e.ID, wentBack)
	}
}

// judgeShown: a program that is started anew shows the same jobs.
func (w *world) judgeShown(d *device) {
	if !w.deep && d != w.alive()[int(w.seed)%len(w.alive())] {
		return
	}
	show := func() string {
		var all strings.Builder
		for _, job := range jobIDs {
			j, err := d.rep.Job(ctx, company, job)
			must(err, "fold")
			out, err := j.Export()
			must(err, "export")
			all.Write(out)
		}
		return all.String()
	}
	before := show()
	d.open()
	if show() != before {
		fail("%s, started anew, shows another job", d.name)
	}
}

func (w *world) judgeRevoked(srv storetest.Rows) {
	last := map[jobs.Hash]string{}
	for _, a := range srv.Acts {
		last[a.H] = a.Act
	}
	for h, e := range srv.Entries {
		if w.revoked[e.Dev] && e.State == replica.Standing && !w.before[h] && last[h] != "admit" {
			fail("entry %s of a revoked device stands", e.ID)
		}
	}
}

// judgeClock: no clock that runs a year ahead drags the server's along.
func (w *world) judgeClock(srv storetest.Rows) {
	if at := srv.Devices[w.sid].Clk.Time(); at.After(w.now.Add(11 * time.Minute)) {
		fail("the server's clock was dragged to %s, it is %s", at, w.now)
	}
}

// judgeWords: each word that was recorded, and that any disk in use still holds, is in its job once, or waits there, or
// lies aside.
func (w *world) judgeWords(srv storetest.Rows) {
	counts := map[string]int{}
	for _, job := range jobIDs {
		j, err := w.servers[0].Job(ctx, company, job)
		must(err, "fold")
		for _, r := range j.Records {
			counts[word(*r.Entry)]++
		}
	}
	waits := map[string]bool{}
	for _, e := range srv.Entries {
		if e.State != replica.Standing {
			waits[word(e.Entry)] = true
		}
	}
	for _, a := range srv.Asides {
		waits[word(a.Entry)] = true
	}
	for _, d := range w.devices {
		here, err := storetest.ReadRows(ctx, d.store.on, company)
		must(err, "read "+d.name)
		for _, e := range here.Entries {
			t := word(e.Entry)
			if t == "" || counts[t] == 1 || counts[t] == 0 && waits[t] {
				continue
			}
			if counts[t] > 1 {
				fail("word %s stands %d times", t, counts[t])
			}
			if !w.lostWith(d, e, here, srv) {
				fail("word %s of %s, which is %s there, is nowhere at the server", t, d.name, e.State)
			}
		}
	}
}

// lostWith tells why an entry may be missing at a server that was restored: it is somebody's who is gone, and what stands
// before it was never here, or its text was held back, or no seal with a receipt covers it; or this device was cut off, and
// never learns that the server has lost what it had.
func (w *world) lostWith(d *device, e replica.Stored, here, srv storetest.Rows) bool {
	if w.revoked[d.id] {
		return e.N != 0 || w.gone(e.Dev)
	}
	if !w.gone(e.Dev) || e.N != 0 {
		return false
	}
	var seal *replica.Seal // the first that covers it: up to there all that was written must be here to be offered
	for _, s := range here.Seals {
		if s.Dev == e.Dev && s.Job == e.Job && s.Seq >= e.Seq && s.Receipt != nil && (seal == nil || s.Seq < seal.Seq) {
			seal = &s
		}
	}
	if seal == nil {
		return true
	}
	var list []replica.Stored
	for _, o := range here.Entries {
		if o.Dev == e.Dev && o.Run <= seal.Run {
			list = append(list, o)
		}
	}
	slices.SortFunc(list, func(a, b replica.Stored) int { return int(a.Run - b.Run) })
	for i, o := range list {
		_, there := srv.Entries[o.Hash]
		if o.Run != int64(i)+1 || !there && o.Data == nil {
			return true // what lies between is of a job that this device does not see, or its text was held back
		}
	}
	return int64(len(list)) < seal.Run || w.forked(e.Dev, here, srv)
}

// forked tells whether the server has another entry than a device at a number of a third.
func (w *world) forked(dev string, here, srv storetest.Rows) bool {
	runs := map[int64]jobs.Hash{}
	for h, e := range srv.Entries {
		if e.Dev == dev {
			runs[e.Run] = h
		}
	}
	for h, e := range here.Entries {
		if at, ok := runs[e.Run]; ok && e.Dev == dev && at != h {
			return true
		}
	}
	return false
}

// word is the mark that each record of a schedule carries, sealed in most.
func word(e jobs.Entry) string {
	body := e.Data
	if e.Key != nil {
		text, err := (&jobs.Record{Entry: &e}).EdgeJSON()
		must(err, "read what is sealed")
		body = text
	}
	_, rest, ok := strings.Cut(string(body), "word-")
	if !ok {
		return ""
	}
	w, _, _ := strings.Cut(rest, ".")
	return w
}
