package sim

import (
	"fmt"
	"slices"

	"tacet/sync/replica"
)

// say has the server say something about access, and keeps it in the ledger.
func (w *world) say(a replica.Access) {
	a.Co, a.At = company, w.at().UnixMilli()
	must(a.Sign(w.key), "sign")
	w.said = append(w.said, a)
	_, err := w.servers[0].Heed(ctx, company, []replica.Access{a})
	must(err, "say something about access")
}

// access gives or takes a job, or all of which nothing is said. The supervisor sees everything.
func access(w *world, d *draws) {
	dev := w.one(d)
	if dev.person == w.devices[0].person {
		return
	}
	a := replica.Access{What: replica.AccessJobs, ID: dev.person, May: d.upto(2) == 0}
	if d.upto(3) > 0 {
		a.What, a.Job = replica.AccessJob, w.job(d)
	}
	w.met["access given"] += 1
	if !a.May {
		w.met["access taken"]++
	}
	w.say(a)
}

// kept tells whether a job is kept from a person, by what was said last. It shares nothing with package replica.
func (w *world) kept(person, job string) bool {
	kept := false
	for _, a := range w.said {
		if a.ID == person && a.What == replica.AccessJobs {
			kept = !a.May
		}
	}
	for _, a := range w.said {
		if a.ID == person && a.What == replica.AccessJob && a.Job == job {
			kept = !a.May
		}
	}
	return kept
}

// judgeKept: what a device is given is of jobs that its person sees, or became of its own entries.
func (d *device) judgeKept(p replica.Page) {
	for _, a := range p.Acts {
		if a.Dev != d.id && a.Job != company && d.w.kept(d.person, a.Job) {
			fail("%s was given act %d of a job that is kept from its person", d.name, a.N)
		}
	}
	for _, s := range p.Seals {
		if s.Dev != d.id && s.Job != company && d.w.kept(d.person, s.Job) {
			fail("%s was given a seal of a job that is kept from its person", d.name)
		}
	}
}

// giveAll ends all that keeps jobs from people.
func (w *world) giveAll() {
	for _, a := range slices.Clone(w.said) {
		if a.What == replica.AccessJob && w.kept(a.ID, a.Job) {
			w.say(replica.Access{What: a.What, ID: a.ID, Job: a.Job, May: true})
		}
		if a.What == replica.AccessJobs {
			w.say(replica.Access{What: a.What, ID: a.ID, May: true})
		}
	}
}

// whole tells whether a device has everything of each job.
func (d *device) whole() bool {
	parts, err := d.rep.Parts(ctx, company)
	must(err, "list what is not whole")
	return len(parts) == 0
}

// rekey has a device take another key and another id.
func rekey(w *world, d *draws) {
	dev := w.one(d)
	if w.revoked[dev.id] || dev.out || w.raw[dev.id] || d.upto(3) > 0 {
		return
	}
	w.met["a device took a new key"]++
	dev.succeed()
}

// failover puts the standby in the place of the database: what was committed while it did not answer is lost, and was confirmed to
// nobody.
func failover(w *world, d *draws) {
	dev := w.one(d)
	if d.upto(2) > 0 || w.revoked[dev.id] || w.copied[dev.id] || dev.out {
		return
	}
	w.met["a standby took over"]++
	standby := w.store.on.snapshot()
	w.store.Stick = func() bool { return true }
	dev.note(w.job(d))
	for range 2 {
		l := straight(d.upto(2))
		l.twice = d.upto(3) - 1
		_ = dev.sync(l)
	}
	w.store = tell(standby.snapshot())
	w.startServers()
	dev.judgeSent() // before anything is sent again
}

// lagging has a device ask a standby that lags: it shows what was there a while ago, and takes nothing. Left out on PostgreSQL, where a
// backup is tables in a schema of the one database, which cannot be asked while the database itself goes on.
func lagging(w *world, d *draws) {
	late, other := w.one(d), w.one(d)
	if _, many := w.store.on.(interface{ another(i int) replica.Store }); many || d.upto(2) > 0 || w.revoked[late.id] || w.copied[late.id] || late.out {
		return
	}
	w.met["a standby was asked"]++
	on := tell(w.store.on.snapshot())
	if w.plant != "a standby takes what is sent" {
		concludes := w.plant == "a standby says that the server went back"
		on.Fail = func(call string, write bool) error {
			if write && !(concludes && slices.Contains([]string{"begin", "Seq", "SetSeq", "commit"}, call)) {
				return fmt.Errorf("a standby takes nothing: %w", replica.ErrBusy)
			}
			return nil
		}
	}
	job := w.job(d)
	other.note(job)
	_ = other.sync(straight(0))
	_ = late.sync(straight(0))
	if d.upto(2) == 0 {
		late.note(job)
	}
	l := straight(0)
	l.at = replica.New(replica.Config{Store: on, Blobs: w.album, Device: w.sid, Key: w.key, Now: w.at, Rand: w.rand})
	_ = late.sync(l)
	late.line.at = nil
	late.judgeWentBack()
}
