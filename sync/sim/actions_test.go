package sim

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

// actions are what may happen, the frequent ones more than once.
var actions = []func(*world, *draws){
	record, record, record, record, exchange, exchange, exchange, exchange, exchange, exchange,
	answer, restart, failing, jump, jump, backup, restoreServer, copyDisk, restoreDevice, clone, revoke, scrap, picture, office, rule, rule,
	access, access, later, rekey, failover, lagging,
}

func (w *world) one(d *draws) *device { return w.devices[d.upto(len(w.devices))] }

func (w *world) word() string {
	w.token++
	return fmt.Sprintf("word-%d.", w.token)
}

func (w *world) job(d *draws) string { return jobIDs[max(d.upto(3)-1, 0)] } // the first twice as often

func record(w *world, d *draws) {
	dev, job := w.one(d), w.job(d)
	edge := ""
	switch d.upto(4) {
	case 0:
		edge = fmt.Sprintf(`{"do":"install","surface":"C1","layer":%d,"share":0.25,"note":%q}`, 1+d.upto(3), w.word())
	case 1:
		edge = fmt.Sprintf(`{"do":"check","surface":"C1","layer":2,"check":"K23","result":%q,"evidence":2,"measured":{"gap_mm":1,"length_m":1},"note":%q%s}`,
			[]string{"pass", "fail", "could_not_see"}[d.upto(3)], w.word(), dev.over(d, job))
	default:
		edge = fmt.Sprintf(`{"do":"note","text":%q}`, w.word())
	}
	dev.record(job, json.RawMessage(edge))
}

// over names, most of the time, a check that is to be superseded.
func (d *device) over(draw *draws, job string) string {
	j, err := d.rep.Job(ctx, company, job)
	must(err, "fold")
	s := j.Surface("C1")
	if s == nil || draw.upto(4) == 0 {
		return ""
	}
	for _, c := range s.ChecksOf(2) {
		if c.Rule.Code == "K23" && len(c.Heads) > 0 {
			d.w.met["superseded"]++
			return fmt.Sprintf(`,"over":%q`, c.Heads[draw.upto(len(c.Heads))].ID)
		}
	}
	return ""
}

// rule has the supervisor open a hold point, or put their own finding in the place of another's.
func rule(w *world, d *draws) {
	dev, job := w.devices[0], w.job(d)
	if d.upto(2) == 0 {
		dev.record(job, json.RawMessage(fmt.Sprintf(`{"do":"release","surface":"C1","layer":2,"checks":["K23"],"note":%q}`, w.word())))
		return
	}
	dev.record(job, json.RawMessage(fmt.Sprintf(`{"do":"check","surface":"C1","layer":2,"check":"K23","result":"fail","note":%q%s}`, w.word(), dev.over(d, job))))
}

func exchange(w *world, d *draws) {
	dev := w.one(d)
	l := straight(d.upto(2))
	switch d.upto(10) {
	case 0, 1:
		l.ask = d.upto(6)
	case 2, 3:
		l.answer = d.upto(5)
	case 4:
		l.twice = d.upto(3)
	case 5:
		l.cut = d.upto(4000)
	case 6:
		l.strange = true
	case 7:
		l.expire = d.upto(6)
	}
	_ = dev.sync(l) // what goes wrong on a line goes wrong; all else ends the schedule
}

// answer has a supervisor say what becomes of an entry that is held.
func answer(w *world, d *draws) {
	dev, job := w.devices[0], w.job(d)
	j, err := dev.rep.Job(ctx, company, job)
	must(err, "fold")
	held := j.Held()
	if len(held) == 0 {
		return
	}
	e := held[d.upto(len(held))]
	says := []string{jobs.AnswerAdmit, jobs.AnswerRefuse}[d.upto(2)]
	w.met["answered: "+says]++
	dev.record(job, json.RawMessage(fmt.Sprintf(`{"do":"admission","on":[%q],"answer":%q,"reason":"seen","note":%q}`, e.ID, says, w.word())))
}

func restart(w *world, d *draws) {
	if d.upto(2) == 0 {
		w.startServers()
		return
	}
	w.one(d).open()
}

// failing lets a store fail at its n-th step, while somebody records and exchanges; the program is started anew.
func failing(w *world, d *draws) {
	dev := w.one(d)
	s := dev.store
	if d.upto(2) == 0 {
		s = w.store
	}
	n := d.upto(60)
	s.Fail = func(_ string, write bool) error {
		if write {
			n--
		}
		if n == -1 && write {
			w.met["a store failed"]++
			return errInjected
		}
		return nil
	}
	dev.record(w.job(d), json.RawMessage(fmt.Sprintf(`{"do":"note","text":%q}`, w.word())))
	err := dev.sync(straight(0))
	s.Fail = nil
	if w.plant == "cursor saved before its entries" && err != nil && s == dev.store {
		w.skipAhead(dev)
	}
	dev.open()
}

func jump(w *world, d *draws) {
	dev := w.one(d)
	dev.off = []time.Duration{0, 365 * 24 * time.Hour, -365 * 24 * time.Hour, 3 * time.Minute, -time.Hour, 20 * time.Minute}[d.upto(6)]
	w.met["a clock jumped"]++
}

func backup(w *world, _ *draws) { w.backups = append(w.backups, w.store.on.snapshot()) }

func restoreServer(w *world, d *draws) {
	if d.upto(2) == 0 {
		return
	}
	w.met["a server was restored"]++
	w.store = tell(w.backups[d.upto(len(w.backups))].snapshot())
	if w.plant != "a restored server keeps its id" {
		w.sid = ""
	}
	w.startServers()
	if w.plant != "a restored server keeps its id" {
		must(w.servers[0].NewEpoch(ctx, company, "restored"), "begin an epoch")
	}
	for id := range w.revoked { // the ledger
		err := w.servers[0].Revoke(ctx, company, id)
		if errors.Is(err, jobs.ErrNotFound) {
			err = w.store.Write(ctx, company, func(tx replica.Tx) error {
				for _, dev := range w.devices {
					if dev.id == id {
						return tx.PutDevice(replica.Device{ID: id, Key: pub(dev.key), NextRun: 1, Revoked: 1})
					}
				}
				return nil
			})
		}
		must(err, "replay the ledger")
	}
	_, err := w.servers[0].Heed(ctx, company, w.said)
	must(err, "replay what was said about access")
}

func copyDisk(w *world, d *draws) { w.disks = append(w.disks, w.one(d).copyDisk()) }

// restoreDevice puts an older disk in the place of a device's. It takes another id at once.
func restoreDevice(w *world, d *draws) {
	if len(w.disks) == 0 || d.upto(2) == 0 {
		return
	}
	old := w.disks[d.upto(len(w.disks))]
	if w.revoked[old.id] || old.d.out || w.revoked[old.d.id] {
		return
	}
	w.met["a device was restored"]++
	dev := old.d
	w.copied[old.id], w.copied[dev.id] = true, true
	dev.store, dev.album.data, dev.saved, dev.id, dev.key = tell(old.store.snapshot()), maps.Clone(old.album), maps.Clone(old.saved), old.id, old.key
	dev.open()
	if w.plant != "a restored device keeps its id" {
		dev.succeed()
	}
}

// clone copies a disk, and both are used from then on.
func clone(w *world, d *draws) {
	dev := w.one(d)
	if len(w.devices) >= 6 || w.revoked[dev.id] || d.upto(2) == 0 {
		return
	}
	w.met["a disk was copied"]++
	disk := dev.copyDisk()
	w.copied[dev.id], w.raw[dev.id] = true, true
	c := &device{w: w, name: fmt.Sprintf("%s copy %d", dev.name, len(w.devices)), id: dev.id, key: dev.key, person: dev.person, role: dev.role, store: tell(disk.store),
		album: &album{data: disk.album}, saved: disk.saved}
	c.open()
	w.devices = append(w.devices, c)
}

// revoke cuts a device off; the first, the supervisor's, never.
func revoke(w *world, d *draws) {
	dev := w.one(d)
	if len(w.revoked) > 0 || dev.id == w.devices[0].id || d.upto(3) > 0 {
		return
	}
	for _, other := range w.devices { // a copy that has not been found out would be cut off with it
		if other != dev && other.id == dev.id {
			return
		}
	}
	w.met["a device was revoked"]++
	if err := w.servers[0].Revoke(ctx, company, dev.id); err != nil {
		if errors.Is(err, jobs.ErrNotFound) {
			return // enrolled after the backup that the server was restored from, and not seen since
		}
		must(err, "revoke")
	}
	w.revoked[dev.id] = true
	for _, e := range w.store.from(dev.id) {
		w.before[e.Hash] = true
	}
	for _, o := range w.devices { // what others hold of it had been taken before
		for _, e := range o.store.from(dev.id) {
			if e.State != replica.Unsent {
				w.before[e.Hash] = true
			}
		}
	}
}

// scrap loses a device with all that is on it; the supervisor's is never lost.
func scrap(w *world, d *draws) {
	at := d.upto(len(w.devices))
	if at == 0 || len(w.devices) < 3 || d.upto(3) > 0 || w.revoked[w.devices[at].id] {
		return
	}
	w.met["a device was scrapped"]++
	w.devices = slices.Delete(w.devices, at, at+1)
}

func picture(w *world, d *draws) {
	dev := w.one(d)
	h, err := dev.album.Put(ctx, company, []byte("picture "+strconv.Itoa(w.token)))
	must(err, "keep a picture")
	dev.record(w.job(d), json.RawMessage(fmt.Sprintf(`{"do":"photo","surface":"C1","file":%q,"note":%q}`, h, w.word())))
}

// office records at a server.
func office(w *world, d *draws) {
	edge := fmt.Sprintf(`{"do":"note","text":%q}`, w.word())
	es, err := w.servers[d.upto(2)].Record(ctx, company, w.devices[0].author(), w.job(d), []json.RawMessage{json.RawMessage(edge)})
	w.gave(es)
	if err != nil && !errors.Is(err, jobs.ErrRefused) {
		must(err, "record at the server")
	}
}
