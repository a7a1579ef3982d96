package replica_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// picture puts a photo on a device and records it in a job.
func (d *device) picture(data, job string) jobs.Hash {
	d.t.Helper()
	h, err := d.dir.Put(ctx, company, []byte(data))
	if err == nil {
		_, err = d.Record(ctx, company, d.author(), job, []json.RawMessage{[]byte(`{"do":"photo","file":"` + h.String() + `"}`)})
	}
	if err != nil {
		d.t.Fatal(err)
	}
	return h
}

// A photo that the office erases is gone from the server and from each device at its next contact, files included. Nobody asks for it or
// sends it again, not even a device that was away with it, and the chain stays whole.
func TestErasedPhotoIsGoneEverywhere(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		office, site, away := w.join(1, jobs.Office), w.join(2, jobs.Site), w.join(3, jobs.Site)
		office.importHouse()
		office.sync()
		site.sync()
		h, other := site.picture("a face at the window", jobID), site.picture("a seal", jobID)
		for _, d := range []*device{site, office, away} {
			d.sync()
		}
		if _, err := away.Photo(ctx, company, jobID, h); err != nil {
			t.Fatal(err)
		}
		edge := `{"do":"erasure","of_photos":["` + h.String() + `"],"reason":"shows"}`
		if _, err := site.try(edge); err == nil {
			t.Error("site may erase a photo")
		}
		// A device that does not know it yet names the photo once more.
		late := away.record(`{"do":"photo","surface":"C1","layer":1,"file":"` + h.String() + `"}`)[0]
		office.record(edge)
		for _, d := range []*device{office, site, away, office, site} {
			d.sync()
		}
		for name, r := range map[string]*replica.Replica{"office": office.Replica, "site": site.Replica, "away": away.Replica, "server": w.server} {
			if _, err := r.Photo(ctx, company, jobID, h); !errors.Is(err, replica.ErrErased) {
				t.Errorf("%s shows the photo: %v", name, err)
			}
			if _, err := r.Photo(ctx, company, jobID, other); err != nil {
				t.Errorf("%s lost the other photo: %v", name, err)
			}
			j, err := r.Job(ctx, company, jobID)
			if err != nil {
				t.Fatal(err)
			}
			if e, why := j.PhotoErased(h); e == nil || !strings.Contains(why, "a home") || j.ByHash(late.Hash) == nil {
				t.Errorf("%s does not say that it was erased: %v, %q", name, e, why)
			}
			if _, err := r.Prove(ctx, company, jobID); err != nil {
				t.Errorf("the chain of %s: %v", name, err)
			}
		}
		for _, d := range []*device{office, site, away} {
			if _, err := d.dir.Size(ctx, company, h); !errors.Is(err, jobs.ErrNotFound) {
				t.Errorf("device %s has its file: %v", d.id, err)
			}
			if _, photos, _, err := d.Waiting(ctx, company); err != nil || photos != 0 {
				t.Errorf("device %s waits with %d photos, %v", d.id, photos, err)
			}
		}
		if err := w.server.TakePhoto(ctx, company, jobID, h, []byte("a face at the window")); !errors.Is(err, replica.ErrErased) {
			t.Errorf("the server takes it again: %v", err)
		}
		if p, err := w.server.TakePiece(ctx, company, jobID, h, 0, 20, []byte("a face at the window"), nil); err != nil || !p.Whole {
			t.Errorf("a piece of it: %+v, %v", p, err)
		}
		if _, err := away.try(`{"do":"photo","file":"` + h.String() + `"}`); err == nil {
			t.Error("a photo that was erased is recorded once more")
		}
	})
}

// A photo is erased in one job: another that names the same picture keeps it until it is erased there too.
func TestPhotoIsErasedPerJob(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	office := w.join(1, jobs.Office)
	office.importHouse()
	second := w.id("a", 2)
	if _, err := office.Record(ctx, company, office.author(), second, []json.RawMessage{[]byte(`{"do":"job","name":"The house beside it"}`)}); err != nil {
		t.Fatal(err)
	}
	h := office.picture("both houses", jobID)
	office.picture("both houses", second)
	office.sync()
	erase := func(job string) {
		t.Helper()
		if _, err := office.Record(ctx, company, office.author(), job, []json.RawMessage{[]byte(`{"do":"erasure","of_photos":["` + h.String() + `"],"reason":"asked"}`)}); err != nil {
			t.Fatal(err)
		}
		office.sync()
	}
	erase(jobID)
	for _, r := range []*replica.Replica{office.Replica, w.server} {
		if _, err := r.Photo(ctx, company, jobID, h); !errors.Is(err, replica.ErrErased) {
			t.Errorf("in the first job: %v", err)
		}
		if _, err := r.Photo(ctx, company, second, h); err != nil {
			t.Errorf("in the second job: %v", err)
		}
	}
	erase(second)
	if _, err := office.dir.Size(ctx, company, h); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("the file is still here: %v", err)
	}
	if _, err := w.server.Photo(ctx, company, second, h); !errors.Is(err, replica.ErrErased) {
		t.Errorf("in the second job: %v", err)
	}
}
