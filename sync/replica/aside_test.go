package replica_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// A server is restored from last month's backup. Three tablets return; a fourth, enrolled after the backup, is scrapped. All
// that the four had sent is back, once; the fourth's through what the others offer.
func TestScrappedTabletComesBackThroughOthers(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b, c := w.join(1, jobs.Supervisor), w.join(2, jobs.Site), w.join(3, jobs.Site)
	a.importHouse()
	a.sync()
	for _, d := range []*device{b, c} {
		d.sync()
	}
	backup := backUp(t, w.store)
	scrapped := w.join(4, jobs.Site)
	scrapped.sync()
	pic, err := scrapped.dir.Put(ctx, company, []byte("a picture of the scrapped one"))
	if err != nil {
		t.Fatal(err)
	}
	for i := range 5 {
		scrapped.record(note(fmt.Sprintf("by the scrapped one, %d.", i)))
		scrapped.sync()
	}
	scrapped.record(`{"do":"photo","surface":"C1","file":"` + pic.String() + `"}`)
	scrapped.sync()
	scrapped.net.persons = map[string]jobs.Role{}
	refused := scrapped.record(note("held, then refused"))[0]
	scrapped.sync()
	b.record(note("by b"))
	for _, d := range []*device{b, a, c} {
		d.sync()
	}
	a.record(admission("refuse", refused.ID))
	for _, d := range []*device{a, b, c} {
		d.sync()
	}
	before := a.settled()
	w.restore(backup)
	if err := w.server.NewEpoch(ctx, company, "restored"); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		for _, d := range []*device{c, b, a} {
			d.sync()
		}
	}
	if w.settled() != before {
		t.Errorf("before %s\nafter  %s", before, w.settled())
	}
	for _, d := range []*device{a, b, c} {
		if d.settled() != before {
			t.Errorf("%s holds another job", d.id)
		}
		if err := d.Verify(ctx, company, jobID); err != nil {
			t.Error(err)
		}
	}
	if _, err := w.server.VerifyLog(ctx, company); err != nil {
		t.Error(err)
	}
	if data, err := w.server.Photo(ctx, company, jobID, pic); err != nil || string(data) != "a picture of the scrapped one" {
		t.Errorf("the photo is not back: %v", err)
	}
	states, err := w.server.States(ctx, company, jobID)
	if err != nil || states[refused.ID] == replica.Standing {
		t.Errorf("what was held stands: %v, %v", states[refused.ID], err)
	}
}

// What no receipt of the server's covers, or what a device offers of itself, is not taken.
func TestOfferedWithoutReceipt(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	offer := a.batch()
	offer.Devices = []replica.DeviceKey{{Dev: a.id, Key: pub(a.key)}}
	if _, err := w.server.TakeOffer(ctx, company, b.id, offer); !errors.Is(err, replica.ErrReceipt) {
		t.Errorf("got %v", err)
	}
	if _, err := w.server.TakeOffer(ctx, company, a.id, offer); !errors.Is(err, replica.ErrBadFrame) {
		t.Errorf("got %v", err)
	}
	offer.Seals[0].Sig[3]++
	if _, err := w.server.TakeOffer(ctx, company, b.id, offer); !errors.Is(err, replica.ErrBadSeal) {
		t.Errorf("got %v", err)
	}
}

// A tablet is stolen at ten and revoked at five past. What was recorded on it before and not sent, and what the thief adds,
// lies aside; the supervisor takes the honest part, in its order, and the rest counts nowhere.
func TestStolenTablet(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		sup, a := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
		sup.importHouse()
		sup.sync()
		a.sync()
		a.record(note("of the morning"))
		a.sync()
		var honest []jobs.Entry
		for i := range 12 {
			honest = append(honest, a.record(note(fmt.Sprintf("honest %d.", i)))...)
		}
		if err := w.server.Revoke(ctx, company, a.id); err != nil {
			t.Fatal(err)
		}
		a.record(note("by the thief"), note("by the thief too"))
		if _, err := a.Sync(ctx, a.net); !errors.Is(err, replica.ErrRevoked) {
			t.Fatalf("got %v", err)
		}
		if n, err := a.SendAside(ctx, a.net); err != nil || n != 14 {
			t.Fatalf("%d aside, %v", n, err)
		}
		if n, err := a.SendAside(ctx, a.net); err != nil || n != 0 {
			t.Errorf("said twice: %d, %v", n, err)
		}
		a.open(company)
		if n, err := a.SendAside(ctx, a.net); err != nil || n != 14 {
			t.Errorf("said again after a restart: %d, %v", n, err)
		}
		if _, err := a.Pull(ctx, a.net); !errors.Is(err, replica.ErrRevoked) {
			t.Errorf("something is given out: %v", err)
		}
		sup.sync()
		if strings.Contains(sup.settled(), "honest") {
			t.Error("what lies aside counts")
		}
		list, err := w.server.Asides(ctx, company, a.id)
		if err != nil || len(list) != 14 || list[0].Why != replica.WhyRevoked {
			t.Fatalf("%d, %v", len(list), err)
		}
		if n, err := w.server.AdmitAside(ctx, company, a.id, honest[11].Run); err != nil || n != 12 {
			t.Fatalf("%d admitted, %v", n, err)
		}
		if n, err := w.server.RefuseAside(ctx, company, a.id, "after the theft"); err != nil || n != 2 {
			t.Errorf("%d refused, %v", n, err)
		}
		ids := make([]string, len(honest))
		for i, e := range honest {
			ids[i] = e.ID
		}
		sup.sync()
		sup.record(admission("admit", ids...))
		sup.sync()
		out := sup.settled()
		if strings.Count(out, "honest") != 12 || strings.Contains(out, "thief") || out != w.settled() {
			t.Error(out)
		}
		if _, err := w.server.VerifyLog(ctx, company); err != nil {
			t.Error(err)
		}
		if err := sup.Verify(ctx, company, jobID); err != nil {
			t.Error(err)
		}
		// strangers, and devices that may push, file nothing
		if _, err := w.server.FileAside(ctx, sup.batchOf(sup.record(note("x")))); !errors.Is(err, replica.ErrBadFrame) {
			t.Errorf("got %v", err)
		}
		bad := a.batchOf(a.record(note("y")))
		bad.Seals[0].Sig[0]++
		if _, err := w.server.FileAside(ctx, bad); !errors.Is(err, replica.ErrBadSeal) {
			t.Errorf("got %v", err)
		}
	})
}

func (d *device) batchOf(es []jobs.Entry) replica.Batch {
	e := es[len(es)-1]
	return replica.Batch{Entries: []replica.Raw{{Env: e.Env, Body: e.Data, Key: e.Key}}, Seals: []replica.Seal{d.sealOn(e)}}
}

// More than the quota is not kept, and what is kept already stays.
func TestAsideQuota(t *testing.T) {
	t.Parallel()
	w := newWorld(t, storetest.SQLite(t))
	sup, a := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	sup.importHouse()
	sup.sync()
	a.sync()
	a.record(note("known"))
	a.sync()
	if err := w.server.Revoke(ctx, company, a.id); err != nil {
		t.Fatal(err)
	}
	long := strings.Repeat("long words ", 360)
	for range 44 {
		edges := make([]string, 50)
		for i := range edges {
			edges[i] = note(long)
		}
		a.record(edges...)
	}
	kept, err := a.SendAside(ctx, a.net)
	if !errors.Is(err, replica.ErrNoSpace) || kept == 0 || kept >= 2200 {
		t.Errorf("%d kept, %v", kept, err)
	}
	if n, _, _, err := a.Waiting(ctx, company); err != nil || n != 2200 {
		t.Errorf("%d are here, %v", n, err)
	}
}
