package sim

import (
	"crypto/sha256"
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strings"

	"tacet/jobs"
	"tacet/sync/replica"
)

// judge looks at what is on the disks after all faults have ended and everybody has exchanged. It reads rows, not package
// replica; what the replicas say of themselves is compared with it at the end.
func (w *world) judge() {
	srv := w.store.cos[company]
	w.judgeLog(srv)
	w.judgeLanes("the server", srv, true)
	standing := w.judgeStates(srv)
	for _, d := range w.devices {
		w.judgeSaved(d)
		if w.revoked[d.id] {
			continue
		}
		s := d.store.cos[company]
		w.judgeLanes(d.name, s, false)
		if s.me.Cursor.N != srv.seq.N || s.me.Cursor.Head != srv.seq.Head {
			fail("%s has read up to %d, the log ends at %d", d.name, s.me.Cursor.N, srv.seq.N)
		}
		here := map[jobs.Hash]bool{}
		for h, e := range s.entries {
			if e.State == replica.Standing {
				here[h] = true
			}
			if e.State == replica.ToConfirm && w.gone(e.Dev) {
				continue // behind something held whose text only its author had, on a disk that is gone: visible, to be confirmed
			}
			if e.State == replica.Unsent || e.State == replica.Sent || e.State == replica.ToConfirm {
				fail("%s: entry %s is %s after everything", d.name, e.ID, e.State)
			}
			if w.met["a server was restored"] == 0 && d.id != e.Dev && e.Data != nil && w.onlyHeld(srv, h) && !w.wrote(d, e.Dev) {
				fail("%s can read what is held of another: %s", d.name, e.ID)
			}
		}
		if !maps.Equal(here, standing) {
			fail("%s: %d entries stand here, %d at the server", d.name, len(here), len(standing))
		}
		for k, p := range s.photos {
			if data, ok := d.album.data[k.h]; p.Here && (!ok || jobs.HashBlob(data) != k.h) {
				fail("%s: a photo that is said to be here is not", d.name)
			}
		}
	}
	for k, p := range srv.photos {
		if data, ok := w.album.data[k.h]; p.Here && (!ok || jobs.HashBlob(data) != k.h) {
			fail("the server: a photo that is said to be here is not")
		}
	}
	w.judgeReplicas()
	w.judgeWords(srv)
}

// gone tells whether nobody writes under an id any more.
func (w *world) gone(dev string) bool {
	return !slices.ContainsFunc(w.alive(), func(d *device) bool { return d.id == dev })
}

// wrote tells whether a device has had another id, under which it wrote.
func (w *world) wrote(d *device, dev string) bool {
	for id := d.id; id != ""; {
		own, ok := d.store.cos[company].devices[id]
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
func (w *world) onlyHeld(srv *state, h jobs.Hash) bool {
	held := false
	for _, a := range srv.acts {
		if a.H == h {
			if a.Act != "hold" && a.Act != "refuse" {
				return false
			}
			held = true
		}
	}
	return held
}

// judgeLog works out the chain of the log anew.
func (w *world) judgeLog(srv *state) {
	var head jobs.Hash
	for i, a := range srv.acts {
		d := sha256.New()
		d.Write([]byte("tacet log 1\n"))
		d.Write(head[:])
		fmt.Fprintf(d, "%d\n%s\n", i+1, a.Act)
		d.Write(a.H[:])
		head = jobs.Hash(d.Sum(nil))
		if a.N != int64(i)+1 || a.Head != head {
			fail("act %d of the log", i+1)
		}
	}
	if srv.seq.N != int64(len(srv.acts)) || srv.seq.Head != head {
		fail("the log ends at %d, %d acts are there", srv.seq.N, len(srv.acts))
	}
}

// judgeLanes checks bytes, hashes and that no place and no number is missing or there twice.
func (w *world) judgeLanes(who string, s *state, server bool) {
	type lane struct{ dev, job string }
	lanes, runs := map[lane][]replica.Stored{}, map[string][]int64{}
	for h, e := range s.entries {
		d := sha256.New()
		d.Write([]byte("tacet entry 1\n"))
		d.Write(e.Env)
		if jobs.Hash(d.Sum(nil)) != h || e.Data != nil && sha256.Sum256(e.Data) != e.Body {
			fail("%s: the bytes of entry %s", who, e.ID)
		}
		lanes[lane{e.Dev, e.Job}] = append(lanes[lane{e.Dev, e.Job}], e)
		runs[e.Dev] = append(runs[e.Dev], e.Run)
	}
	for l, list := range lanes {
		slices.SortFunc(list, func(a, b replica.Stored) int { return int(a.Seq - b.Seq) })
		var prev jobs.Hash
		for i, e := range list {
			if e.Seq != int64(i)+1 || e.Prev != prev {
				fail("%s: lane of %s, place %d where %d follows", who, l.dev, e.Seq, i+1)
			}
			prev = e.Hash
		}
	}
	for dev, list := range runs {
		slices.Sort(list)
		for i, n := range list {
			if server && n != int64(i)+1 {
				fail("%s: number %d of %s where %d follows", who, n, dev, i+1)
			}
		}
		if server && s.devices[dev].NextRun != int64(len(list))+1 {
			fail("%s: the next number of %s is %d after %d entries", who, dev, s.devices[dev].NextRun, len(list))
		}
	}
}

// judgeStates works out from the acts what stands, and from that the digests.
func (w *world) judgeStates(srv *state) map[jobs.Hash]bool {
	last := map[jobs.Hash]string{}
	for _, a := range srv.acts {
		last[a.H] = a.Act
	}
	standing, sums, counts := map[jobs.Hash]bool{}, map[string]*big.Int{}, map[string]int64{}
	for h, e := range srv.entries {
		want := map[string]replica.State{"stand": replica.Standing, "admit": replica.Standing, "hold": replica.Held, "refuse": replica.Refused}[last[h]]
		if e.State != want {
			fail("the server: entry %s is %s, its last act is %q", e.ID, e.State, last[h])
		}
		if want == replica.Standing {
			standing[h] = true
			if sums[e.Job] == nil {
				sums[e.Job] = new(big.Int)
			}
			sums[e.Job].Add(sums[e.Job], new(big.Int).SetBytes(h[:]))
			counts[e.Job]++
		}
	}
	for job, sum := range sums {
		sum.Mod(sum, new(big.Int).Lsh(big.NewInt(1), 256))
		m := srv.marks[job]
		if m.Count != counts[job] || new(big.Int).SetBytes(m.Sum[:]).Cmp(sum) != 0 {
			fail("the server: the digest of job %s", job)
		}
	}
	for h, e := range srv.entries {
		if w.revoked[e.Dev] && e.State == replica.Standing && !w.before[h] && last[h] != "admit" {
			fail("entry %s of a revoked device stands", e.ID)
		}
	}
	return standing
}

// judgeSaved: what was said to be saved is on its device, or lies aside there once it was issued again.
func (w *world) judgeSaved(d *device) {
	s := d.store.cos[company]
	for h := range d.saved {
		if _, ok := s.entries[h]; !ok {
			fail("%s: an entry that was said to be saved is gone", d.name)
		}
	}
}

// judgeReplicas: everybody shows the same job, started anew or not, and finds nothing wrong with it.
func (w *world) judgeReplicas() {
	show := func(j *jobs.Job, err error) string {
		must(err, "fold")
		out, err := j.Export()
		must(err, "export")
		return string(out)
	}
	want := show(w.servers[0].Job(ctx, company, jobID))
	w.startServers()
	if show(w.servers[0].Job(ctx, company, jobID)) != want {
		fail("a server that is started anew shows another job")
	}
	_, err := w.servers[0].VerifyLog(ctx, company)
	must(err, "verify the log")
	for _, d := range w.alive() {
		for range 2 {
			if show(d.rep.Settled(ctx, company, jobID)) != want || !w.waits(d) && show(d.rep.Job(ctx, company, jobID)) != want {
				fail("%s shows another job than the server", d.name)
			}
			d.open()
		}
		_, err := d.rep.Prove(ctx, company, jobID)
		must(err, "verify on "+d.name)
		_, err = d.rep.Rebuild(ctx)
		must(err, "rebuild on "+d.name)
	}
}

// waits tells whether something on a device is to be confirmed.
func (w *world) waits(d *device) bool {
	for _, e := range d.store.cos[company].entries {
		if e.State == replica.ToConfirm {
			return true
		}
	}
	return false
}

// judgeWords: each word that was recorded, and that any disk in use still holds, is in the job once, or waits there, or
// lies aside.
func (w *world) judgeWords(srv *state) {
	j, err := w.servers[0].Job(ctx, company, jobID)
	must(err, "fold")
	counts := map[string]int{}
	for _, r := range j.Records {
		counts[word(r.Data)]++
	}
	waits := map[string]bool{}
	for _, e := range srv.entries {
		if e.State != replica.Standing {
			waits[word(e.Data)] = true
		}
	}
	aside := map[string]bool{}
	for _, a := range srv.asides {
		aside[word(a.Data)] = true
	}
	for _, d := range w.devices {
		for _, e := range d.store.cos[company].entries {
			t := word(e.Data)
			if t == "" || w.gone(e.Dev) && e.N == 0 && counts[t] == 0 || w.revoked[d.id] && e.N != 0 && counts[t] == 0 {
				continue // a device that was cut off never learns that the server has lost what it had
			}
			switch {
			case counts[t] > 1:
				fail("word %s stands %d times", t, counts[t])
			case counts[t] == 0 && !waits[t] && !aside[t]:
				fail("word %s of %s, which is %s there, is nowhere at the server", t, d.name, e.State)
			}
		}
	}
}

// word is the mark that each record of a schedule carries.
func word(body []byte) string {
	_, rest, ok := strings.Cut(string(body), "word-")
	if !ok {
		return ""
	}
	w, _, _ := strings.Cut(rest, ".")
	return w
}
