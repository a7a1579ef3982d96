package archive_test

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/archive"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

const (
	company = "01900000-0000-7000-8000-00000000c001"
	jobID   = "01900000-0000-7000-8000-00000000a001"
	device  = "01900000-0000-7000-8000-0000000d0001"
	person  = "01900000-0000-7000-8000-0000000b0001"
)

var ctx = context.Background()

// house is one ceiling; the masses are common practice, no source.
const house = `{"name":"7b Lantern Row","site":"Marlsea","targets":[{"quantity":"dntw_ctr","value_db":43}],"surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":2.5,
 "existing":[{"kind":"board","thickness_mm":12.5,"mass_kg_m2":10}],
 "specified":[{"kind":"cavity","depth_mm":45,"frame":{"kind":"independent","mass_kg_m2":2}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}]}`

func keyFrom(n byte) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n}, ed25519.SeedSize))
}

func pub(k ed25519.PrivateKey) ed25519.PublicKey { return k.Public().(ed25519.PublicKey) }

// content is a job with most kinds of trouble, sealed by its device and received by its server. Salts are drawn anew each
// time, so two contents are never the same bytes.
func content(t testing.TB) archive.Content {
	t.Helper()
	picture, lost := []byte("a picture"), jobs.HashBlob([]byte("a picture that has not arrived"))
	c := archive.Content{Company: company, Job: jobID, Keys: map[string]ed25519.PublicKey{device: pub(keyFrom(1))}, ServerKey: pub(keyFrom(2)), Names: map[string]string{person: "Maren Tolleby"},
		Made: time.Date(2026, 3, 20, 9, 0, 0, 0, time.UTC), Sheets: map[string][]byte{"pack.pdf": []byte("%PDF-1.4 a pack")},
		Photo: func(_ context.Context, h jobs.Hash) ([]byte, error) {
			if h == jobs.HashBlob(picture) {
				return picture, nil
			}
			return nil, fmt.Errorf("photo: %w", jobs.ErrNotFound)
		}}
	j := jobs.NewJob(jobID, company)
	record := func(edge string) jobs.Entry {
		t.Helper()
		draft, err := jobs.Compose(j, jobs.Author{Person: person, Role: jobs.Owner}, []byte(edge))
		if err != nil {
			t.Fatalf("%s: %v", edge, err)
		}
		n := int64(len(c.Entries) + 1)
		env := jobs.Envelope{ID: fmt.Sprintf("01900000-0000-7000-8000-%012d", n), Co: company, Job: jobID, Dev: device, Seq: n, Run: n, Clk: jobs.ClockAt(time.Date(2026, 3, 2, 8, int(n), 0, 0, time.UTC)),
			By: person, Role: jobs.Owner, Kind: draft.Kind, KV: draft.KV, On: draft.On, Refs: draft.Refs, Blobs: draft.Blobs}
		if n > 1 {
			env.Prev = c.Entries[n-2].Hash
		}
		e, err := jobs.NewEntry(env, draft.Body)
		if err != nil {
			t.Fatal(err)
		}
		e.Key = draft.Key
		j.Add(e)
		c.Entries = append(c.Entries, replica.Stored{Entry: e, State: replica.Standing})
		return e
	}
	edges, err := jobs.Import([]byte(house))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range edges {
		record(string(e))
	}
	record(`{"do":"install","surface":"C1","layer":1,"share":1,"by":"Pavo","from_paper":true,"photos":["` + jobs.HashBlob(picture).String() + `"]}`)
	record(`{"do":"install","surface":"C1","layer":2,"share":1,"photos":["` + lost.String() + `"]}`)
	fail := record(`{"do":"check","surface":"C1","layer":2,"check":"K23","result":"fail","measured":{"gap_mm":3}}`)
	record(`{"do":"put_right","over":"` + fail.ID + `","cause":"haste","hours":3}`)
	note := record(`{"do":"note","text":"=HYPERLINK(\"http://example.org\") <script>alert(1)</script>"}`)
	record(`{"do":"withdraw","over":"` + note.ID + `","reason":"wrong job"}`)
	record(`{"do":"sound_test","quantity":"dntw_ctr","value_db":42,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"Saltgate Test Room"}`)
	record(`{"do":"complaint","words":"water at night","kind":"pipes","received":"2026-06-01"}`)
	last := c.Entries[len(c.Entries)-1]
	c.Entries[len(c.Entries)-1].State = replica.Held
	s := replica.Seal{Co: company, Dev: device, Job: jobID, Seq: last.Seq, H: last.Hash, Run: last.Run}
	if err := s.Sign(keyFrom(1)); err != nil {
		t.Fatal(err)
	}
	s.Receipt = &replica.Receipt{Co: company, Epoch: "e", N: 9, Dev: device, Job: jobID, Seq: s.Seq, H: s.H, At: 1}
	if err := s.Receipt.Sign(keyFrom(2)); err != nil {
		t.Fatal(err)
	}
	c.Seals = []replica.Seal{s}
	return c
}

func written(t testing.TB, c archive.Content) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := archive.Write(ctx, &b, c); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func verify(data []byte) (archive.Report, error) {
	return archive.Verify(bytes.NewReader(data), int64(len(data)))
}

// files reads a zip whole.
func files(t testing.TB, data []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// zipped writes files into a zip, as whoever wants to change an archive would.
func zipped(t testing.TB, files map[string][]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range files {
		f, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWriteAndVerify(t *testing.T) {
	c := content(t)
	data := written(t, c)
	rep, err := verify(data)
	if err != nil {
		t.Fatal(err)
	}
	if rep.Entries != len(c.Entries) || rep.Lanes != 1 || rep.Seals != 1 || rep.Receipts != 1 || rep.Unsealed != 0 || rep.Photos != 1 || rep.Missing != 1 || !rep.ServerKey || rep.Name != "7b Lantern Row" {
		t.Errorf("%+v", rep)
	}
	if !bytes.Equal(data, written(t, c)) {
		t.Error("the same content gives other bytes")
	}
	in := files(t, data)
	page := string(in["timeline.html"])
	for _, want := range []string{"7b Lantern Row", "Pavo (recorded by Maren Tolleby), owner, typed in from paper", "K23 fail", "replaced or withdrawn later", "held: waits for the supervisor", "limit 43 dB: fails",
		"C1, layer 2, K23: K23 Perimeter sealed. K23 fail, width of the gap 3 mm. Grade: stop. State: put right.", "A photo that has not arrived, or was damaged", `<img src="photos/` + hexHash([]byte("a picture")) + `.jpg" alt="photo of entry 4">`, "about no. ", "put right later, no. "} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not on the timeline", want)
		}
	}
	if strings.Contains(page, "<script>") {
		t.Error("what somebody typed runs on the timeline")
	}
	rows, err := csv.NewReader(bytes.NewReader(in["timeline.csv"])).ReadAll()
	if err != nil || len(rows) != len(c.Entries)+1 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if strings.HasPrefix(cell, "=") {
				t.Errorf("a spreadsheet runs %q", cell)
			}
		}
	}
	for _, e := range c.Entries {
		if !bytes.Contains(slices.Concat(sorted(in)...), e.Env) {
			t.Errorf("the bytes of entry %s are not in it", e.ID)
		}
	}
	for _, name := range []string{"READ-ME.txt", "job.json", "seals.json", "manifest.json", "sheets/pack.pdf"} {
		if len(in[name]) == 0 {
			t.Errorf("%s is missing", name)
		}
	}
}

func hexHash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

func sorted(in map[string][]byte) (out [][]byte) {
	for _, data := range in {
		out = append(out, data)
	}
	return out
}

// remake puts a manifest that fits onto changed files, as somebody who knows the format would.
func remake(t *testing.T, in map[string][]byte) {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal(in["manifest.json"], &m); err != nil {
		t.Fatal(err)
	}
	var list []any
	for name, data := range in {
		if name != "manifest.json" {
			list = append(list, map[string]any{"name": name, "bytes": len(data), "sha256": hexHash(data)})
		}
	}
	m["files"] = list
	var err error
	if in["manifest.json"], err = json.Marshal(m); err != nil {
		t.Fatal(err)
	}
}

// Every change is found, and where an entry is broken it is named, even when the manifest was made anew to fit.
func TestEveryChangeIsFound(t *testing.T) {
	c := content(t)
	data := written(t, c)
	fourth := c.Entries[3]
	env := func(n int, id string) string { return fmt.Sprintf("entries/%06d-%s.envelope.json", n, id) }
	body := func(n int, id string) string { return fmt.Sprintf("entries/%06d-%s.body.json", n, id) }
	last := c.Entries[len(c.Entries)-1]
	for name, c := range map[string]struct {
		change func(in map[string][]byte)
		names  string
	}{
		"a body": {func(in map[string][]byte) {
			f := body(4, fourth.ID)
			in[f] = bytes.Replace(in[f], []byte(`"share":"1"`), []byte(`"share":"2"`), 1)
		}, fourth.ID},
		"an envelope": {func(in map[string][]byte) {
			f := env(4, fourth.ID)
			in[f] = bytes.Replace(in[f], []byte(`"role":"owner"`), []byte(`"role":"site"`), 1)
		}, fourth.ID},
		"an entry taken out": {func(in map[string][]byte) {
			dropEntry(t, in, fourth.ID)
			delete(in, env(4, fourth.ID))
			delete(in, body(4, fourth.ID))
		}, c.Entries[4].ID},
		"the last entry taken out": {func(in map[string][]byte) {
			dropEntry(t, in, last.ID)
			delete(in, env(len(c.Entries), last.ID))
			delete(in, body(len(c.Entries), last.ID))
		}, "the sealed entry is missing"},
		"an envelope missing": {func(in map[string][]byte) { delete(in, env(4, fourth.ID)) }, fourth.ID},
		"a body missing":      {func(in map[string][]byte) { delete(in, body(4, fourth.ID)) }, fourth.ID},
		"a photo swapped":     {func(in map[string][]byte) { in["photos/"+hexHash([]byte("a picture"))+".jpg"] = []byte("another") }, "photos/"},
		"a photo missing":     {func(in map[string][]byte) { delete(in, "photos/"+hexHash([]byte("a picture"))+".jpg") }, "photos/"},
		"a seal forged": {func(in map[string][]byte) {
			in["seals.json"] = bytes.Replace(in["seals.json"], []byte(`"sig": "`), []byte(`"sig": "AAAA`), 1)
		}, ""},
		"the seals missing":       {func(in map[string][]byte) { delete(in, "seals.json") }, "seals.json"},
		"an envelope not in form": {func(in map[string][]byte) { in[env(4, fourth.ID)] = append([]byte(" "), in[env(4, fourth.ID)]...) }, fourth.ID},
		"an envelope too long":    {func(in map[string][]byte) { in[env(4, fourth.ID)] = bytes.Repeat([]byte("x"), 1<<20) }, fourth.ID},
	} {
		in := files(t, data)
		c.change(in)
		for _, fitted := range []bool{false, true} {
			if fitted {
				remake(t, in)
			}
			_, err := verify(zipped(t, in))
			if !errors.Is(err, replica.ErrBroken) || !strings.Contains(err.Error(), c.names) || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s, manifest made anew %v: %v, want %q named", name, fitted, err, c.names)
			}
		}
	}
	for name, change := range map[string]func(in map[string][]byte){
		"the timeline": func(in map[string][]byte) { in["timeline.html"] = append(in["timeline.html"], ' ') },
		"the pack":     func(in map[string][]byte) { in["sheets/pack.pdf"] = []byte("another") },
		"a file added": func(in map[string][]byte) { in["entries/extra.json"] = []byte("{}") },
		"a file lost":  func(in map[string][]byte) { delete(in, "READ-ME.txt") },
	} {
		in := files(t, data)
		change(in)
		if _, err := verify(zipped(t, in)); !errors.Is(err, replica.ErrBroken) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// One byte that is another one is found wherever it lies: in content, or in what a zip says around it and says twice.
func TestEveryByteIsLookedAt(t *testing.T) {
	c := content(t)
	c.Entries, c.Seals, c.Sheets = c.Entries[:2], nil, nil
	data := written(t, c)
	const step = 5 // each run begins elsewhere
	for i := rand.IntN(step); i < len(data); i += step {
		changed := bytes.Clone(data)
		changed[i] ^= 1 << rand.IntN(8)
		if _, err := verify(changed); err == nil {
			t.Errorf("byte %d of %d: %#02x in place of %#02x is not found", i, len(data), changed[i], data[i])
		}
	}
	for name, changed := range map[string][]byte{
		"bytes before it": append([]byte("#!/bin/sh\n"), data...), "bytes behind it": append(bytes.Clone(data), 0),
		"cut off": data[:len(data)-1],
	} {
		if _, err := verify(changed); err == nil {
			t.Errorf("%s are not found", name)
		}
	}
}

// The same files in another zip are no archive as it was written, and that is what is said: none of them is accused.
func TestPackedAnew(t *testing.T) {
	data := written(t, content(t))
	if _, err := verify(zipped(t, files(t, data))); !errors.Is(err, replica.ErrBroken) || !strings.Contains(err.Error(), "its files are as they were written, the zip around them is not, from byte ") {
		t.Errorf("%v", err)
	}
}

// An archive that was written before, with packed files, is as good as ever: whoever keeps one checks it years later, with a later program.
func TestArchiveOfBefore(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("testdata", "packed.zip"))
	if err != nil {
		t.Fatal(err)
	}
	if rep, err := verify(data); err != nil || rep.Entries != 11 || rep.Photos != 1 {
		t.Errorf("%+v, %v", rep, err)
	}
	end := bytes.LastIndex(data, []byte("PK\x05\x06"))
	directory := int(binary.LittleEndian.Uint32(data[end+16:]))
	for i := directory + rand.IntN(20); i < len(data); i += 20 {
		changed := bytes.Clone(data)
		changed[i] ^= 1 << rand.IntN(8)
		if _, err := verify(changed); err == nil {
			t.Errorf("byte %d of %d, of the directory: %#02x in place of %#02x is not found", i, len(data), changed[i], data[i])
		}
	}
}

// dropEntry takes an entry out of the manifest.
func dropEntry(t *testing.T, in map[string][]byte, id string) {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal(in["manifest.json"], &m); err != nil {
		t.Fatal(err)
	}
	m["entries"] = slices.DeleteFunc(m["entries"].([]any), func(e any) bool { return e.(map[string]any)["id"] == id })
	var err error
	if in["manifest.json"], err = json.Marshal(m); err != nil {
		t.Fatal(err)
	}
}

func TestWhatIsNoArchive(t *testing.T) {
	for name, data := range map[string][]byte{"nothing": nil, "text": []byte("hello"), "another zip": zipped(t, map[string][]byte{"a.txt": []byte("a")}),
		"a newer format": zipped(t, map[string][]byte{"manifest.json": []byte(`{"tacet_archive":2}`)})} {
		_, err := verify(data)
		var input *jobs.InputError
		if !errors.As(err, &input) {
			t.Errorf("%s: %v, want an input error", name, err)
		}
	}
	if _, err := verify(zipped(t, map[string][]byte{"manifest.json": []byte(`{"tacet_archive":1}`)})); !errors.Is(err, replica.ErrBroken) {
		t.Errorf("an empty one: %v", err)
	}
}

// Collect gathers from a home's store all that there is, and what it gathers verifies.
func TestCollect(t *testing.T) {
	s, dir := storetest.SQLite(t), photo.NewDir(t.TempDir())
	me := replica.Me{Company: company, Device: device, Person: person, Role: jobs.Owner}
	if err := replica.Settle(ctx, s, me); err != nil {
		t.Fatal(err)
	}
	r := replica.New(replica.Config{Store: s, Blobs: dir, Company: company, Device: device, Key: keyFrom(1), Now: time.Now, Rand: rand.NewChaCha8([32]byte{7})})
	edges, err := jobs.Import([]byte(house))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Record(ctx, company, jobs.Author{Person: person, Role: jobs.Owner}, jobID, edges); err != nil {
		t.Fatal(err)
	}
	c, err := archive.Collect(ctx, s, company, jobID)
	if err != nil {
		t.Fatal(err)
	}
	c.Photo = func(ctx context.Context, h jobs.Hash) ([]byte, error) { return r.Photo(ctx, company, jobID, h) }
	rep, err := verify(written(t, c))
	if err != nil || rep.Entries != len(edges) || rep.Unsealed != len(edges) || rep.ServerKey {
		t.Errorf("%+v, %v", rep, err)
	}
	if _, err := archive.Collect(ctx, s, company, "01900000-0000-7000-8000-00000000a009"); !errors.Is(err, replica.ErrNoJob) {
		t.Errorf("a job that is not here: %v", err)
	}
}

// Whatever is given, checking ends with a report or one line.
func FuzzVerify(f *testing.F) {
	f.Add(written(f, content(f)))
	f.Add([]byte("PK"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := verify(data); err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%q", err)
		}
	})
}

// The keys with which an archive was checked are those that whoever opens seals.json finds in it, whatever program they use.
func TestNoKeyStandsTwice(t *testing.T) {
	for _, c := range []struct{ file, old, new string }{
		{"seals.json", `"server_key":`, `"server_key":"","Server_Key":`},
		{"seals.json", `"server_key":`, `"server_key":"","server_key":`},
		{"seals.json", `"server_key":`, `"other":1,"server_key":`},
		{"seals.json", `"sig":`, `"SIG":"","sig":`},
		{"manifest.json", `"name": "7b Lantern Row"`, `"name": "7b Lantern Row", "Name": "another"`},
		{"manifest.json", `"entries":`, `"Entries": [], "entries":`},
	} {
		in := files(t, written(t, content(t)))
		in[c.file] = bytes.Replace(in[c.file], []byte(c.old), []byte(c.new), 1)
		if !bytes.Contains(in[c.file], []byte(c.new)) {
			in[c.file] = bytes.Replace(in[c.file], []byte(strings.ReplaceAll(c.old, ": ", ":")), []byte(c.new), 1)
		}
		if !bytes.Contains(in[c.file], []byte(c.new)) {
			t.Fatalf("%s holds no %s", c.file, c.old)
		}
		if c.file != "manifest.json" {
			remake(t, in)
		}
		if rep, err := verify(zipped(t, in)); err == nil {
			t.Errorf("%s with %s holds: %+v", c.file, c.new, rep)
		}
	}
}
