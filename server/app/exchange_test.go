package app_test

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/wire"
)

// record gives the tablet its own record, as a client has it.
func (d *tablet) record() *replica.Replica { return d.recordAt(time.Now) }

func (d *tablet) recordAt(now func() time.Time) *replica.Replica {
	d.w.t.Helper()
	dir := d.w.t.TempDir()
	st, err := store.Open(d.w.t.Context(), filepath.Join(dir, "tacet.db"))
	if err != nil {
		d.w.t.Fatal(err)
	}
	d.w.t.Cleanup(func() { st.Close() })
	me := replica.Me{Company: d.answer.Company, Device: d.id, Person: d.answer.Person, Role: d.answer.Role, Server: d.w.URL, Login: d.answer.Login, ServerKey: d.answer.ServerKey}
	if err := replica.Settle(d.w.t.Context(), st, me); err != nil {
		d.w.t.Fatal(err)
	}
	d.blobs = photo.NewDir(filepath.Join(dir, "photos"))
	return replica.New(replica.Config{Store: st, Blobs: d.blobs, Company: me.Company, Device: d.id, Key: d.key, Now: now, Rand: rand.Reader})
}

func (d *tablet) author() jobs.Author {
	return jobs.Author{Person: d.answer.Person, Role: d.answer.Role}
}

// ceiling is a job as contract files hold it. Masses: common practice, no source.
const ceiling = `{"name":"Canal Row (invented)","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":2.5,
	"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}]}`

// importJob records a job on the tablet and returns its id.
func (d *tablet) importJob(r *replica.Replica) string {
	d.w.t.Helper()
	edges, err := jobs.Import([]byte(ceiling))
	if err != nil {
		d.w.t.Fatal(err)
	}
	id, err := r.NewID()
	if err != nil {
		d.w.t.Fatal(err)
	}
	if _, err := r.Record(d.w.t.Context(), d.answer.Company, d.author(), id, edges); err != nil {
		d.w.t.Fatal(err)
	}
	return id
}

func edges(edge string) []json.RawMessage { return []json.RawMessage{json.RawMessage(edge)} }

func (d *tablet) do(r *replica.Replica, job, edge string) []jobs.Entry {
	d.w.t.Helper()
	es, err := r.Record(d.w.t.Context(), d.answer.Company, d.author(), job, edges(edge))
	if err != nil {
		d.w.t.Fatal(err)
	}
	return es
}

func (d *tablet) sync(r *replica.Replica) replica.Report {
	d.w.t.Helper()
	rep, err := r.Sync(d.w.t.Context(), d.http)
	if err != nil {
		d.w.t.Fatal(err)
	}
	return rep
}

func picture(t *testing.T, c color.Gray) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 64, 48))
	for i := range img.Pix {
		img.Pix[i] = c.Y
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestTwoTabletsExchangeAJob(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		site, judge := w.enrol(w.co, "m.reed", jobs.Site), w.enrol(w.co, "s.marsh", jobs.Supervisor)
		a, b := site.record(), judge.record()
		job := site.importJob(a)
		sha, err := site.blobs.Put(t.Context(), w.co.ID, picture(t, color.Gray{200}))
		if err != nil {
			t.Fatal(err)
		}
		site.do(a, job, `{"do":"install","surface":"C1","layer":1,"share":1,"mass_kg_m2":12.6}`)
		site.do(a, job, `{"do":"photo","surface":"C1","layer":1,"file":"`+sha.String()+`"}`)
		rep := site.sync(a)
		if rep.Waiting != 0 || rep.Held != 0 || rep.Photos != 0 || rep.Sent < 3 {
			t.Errorf("sent: %+v", rep)
		}
		judge.sync(b)
		judge.sync(b) // photos come with the exchange after the entries that name them
		j, err := b.Job(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		if l := j.Surface("C1").Layer(1); l.State != jobs.Installed {
			t.Errorf("layer 1 is %s for the supervisor", l.State)
		}
		got, err := b.Photo(t.Context(), w.co.ID, job, sha)
		if err != nil || jobs.HashBlob(got) != sha {
			t.Errorf("photo: %v", err)
		}

		// The server's own record: a supervisor on its pages records in the server's lane, and the tablet gets it.
		_, err = w.Replica.Record(t.Context(), w.co.ID, judge.author(), job, edges(`{"do":"note","text":"seen from the office"}`))
		if err != nil {
			t.Fatal(err)
		}
		if rep := site.sync(a); rep.Received != 1 {
			t.Errorf("the tablet got %+v, want the note", rep)
		}
		mine, err := a.Settled(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		theirs, err := w.Replica.Settled(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		if x, y := export(t, mine), export(t, theirs); x != y {
			t.Errorf("tablet and server do not hold the same job:\n%s\n%s", x, y)
		}
		// Sending it all again changes nothing.
		if rep := site.sync(a); rep.Sent != 0 || rep.Received != 0 {
			t.Errorf("an exchange without news: %+v", rep)
		}
		if _, err := w.Replica.VerifyLog(t.Context(), w.co.ID); err != nil {
			t.Error(err)
		}
	})
}

func export(t *testing.T, j *jobs.Job) string {
	t.Helper()
	b, err := j.Export()
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestSiteCannotClaimAnotherRole(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	site := w.enrol(w.co, "m.reed", jobs.Site)
	r := site.record()
	job := site.importJob(r)
	// A program that is not ours claims another role: the entry is held, with the reason, and nothing is lost.
	claim := jobs.Author{Person: site.answer.Person, Role: jobs.Office}
	_, err := r.Record(t.Context(), w.co.ID, claim, job, edges(`{"do":"job","name":"Renamed (invented)"}`))
	if err != nil {
		t.Fatal(err)
	}
	if rep := site.sync(r); rep.Held != 1 || rep.Waiting != 0 {
		t.Errorf("exchange: %+v, want one held", rep)
	}
	theirs, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil || theirs.Name != "Canal Row (invented)" {
		t.Errorf("the job at the server is %v, %v", theirs, err)
	}
}

// Every route with an id in it says "not found" for a job of another company, whoever asks, whatever of it exists.
func TestForeignJobs(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		owner := w.enrol(w.co, "m.reed", jobs.Site)
		r := owner.record()
		job := owner.importJob(r)
		data := picture(t, color.Gray{120})
		sha, err := owner.blobs.Put(t.Context(), w.co.ID, data)
		if err != nil {
			t.Fatal(err)
		}
		owner.do(r, job, `{"do":"photo","surface":"C1","file":"`+sha.String()+`"}`)
		owner.sync(r)
		path := "/v1/jobs/" + job + "/photos/" + sha.String()
		if got := w.call(request{method: "GET", path: path, token: owner.answer.AccessToken}); got.status != 200 || !bytes.Equal(got.body, data) {
			t.Fatalf("the owner gets %d", got.status)
		}
		other := w.company("Another (invented)")
		for _, role := range jobs.Roles() {
			d := w.enrol(other, "stranger-"+string(role), role)
			w.call(request{method: "GET", path: path, token: d.answer.AccessToken}).problem(t, "GET photo as "+string(role), 404)
			w.call(request{method: "PUT", path: path, token: d.answer.AccessToken, body: data}).problem(t, "PUT photo as "+string(role), 404)
			page, err := d.http.Pull(t.Context(), replica.Cursor{}, replica.MaxPage)
			if err != nil || len(page.Acts) != 0 || len(page.Digests) != 0 {
				t.Errorf("%s of another company pulls %d acts, %v", role, len(page.Acts), err)
			}
			people, err := d.http.People(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range people {
				if p.ID == owner.answer.Person {
					t.Error("the directory shows somebody of another company")
				}
			}
		}
		// A photo known from one job opens nothing in another job of the same company.
		second := owner.importJob(r)
		owner.sync(r)
		w.call(request{method: "GET", path: "/v1/jobs/" + second + "/photos/" + sha.String(), token: owner.answer.AccessToken}).problem(t, "another job", 404)
		w.call(request{method: "GET", path: "/v1/jobs/" + strings.Repeat("0", 36) + "/photos/" + sha.String(), token: owner.answer.AccessToken}).problem(t, "no job", 404)

		// Entries of this company pushed by a device of another: the batch is refused.
		thief := w.enrol(other, "thief", jobs.Owner)
		tr := thief.record()
		thief.importJob(tr)
		stolen, err := owner.http.Pull(t.Context(), replica.Cursor{}, replica.MaxPage)
		if err != nil {
			t.Fatal(err)
		}
		batch := replica.Batch{Seals: stolen.Seals}
		for _, act := range stolen.Acts {
			batch.Entries = append(batch.Entries, act.Raw)
		}
		if _, err := thief.http.Push(t.Context(), batch); err == nil {
			t.Error("a device of another company pushed entries of this one")
		}
	})
}

func TestRevokedDeviceKeepsAndSendsNothing(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	d.sync(r)
	if err := w.Accounts.Revoke(t.Context(), d.id); err != nil {
		t.Fatal(err)
	}
	d.do(r, job, `{"do":"note","text":"recorded after the revocation"}`)
	rep, err := r.Sync(t.Context(), d.http)
	if !errors.Is(err, replica.ErrRevoked) || rep.Waiting != 1 || rep.Sent != 0 {
		t.Errorf("exchange of a revoked device: %+v, %v", rep, err)
	}
	theirs, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range theirs.Records {
		if rec.Kind == "note" {
			t.Error("the server took a record of a revoked device")
		}
	}
}

func TestAnswerOfPushIsFrames(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	res := w.call(request{method: "GET", path: "/v1/pull", token: d.answer.AccessToken})
	if res.status != 200 || res.header.Get("Content-Type") != wire.MediaFrames {
		t.Fatalf("pull: %d %s", res.status, res.header.Get("Content-Type"))
	}
	lines := strings.Split(strings.TrimSpace(string(res.body)), "\n")
	if !strings.HasPrefix(lines[len(lines)-1], `{"end":`) {
		t.Errorf("the last line is %s", lines[len(lines)-1])
	}
}
