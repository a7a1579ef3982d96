package home_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tacet/client/home"
	"tacet/client/home/hometest"
	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// A format is what one version of the programs left on the disk: formats/NAME.tar.gz holds a device's folder home/, its server's
// folder server/, and saved.json with what was said to be saved in them. It is written once, when that version is released, by
//
//	TACET_FREEZE=v1 go test ./client/home -run TestFormats
//
// and never again; until then it may be deleted and written anew.
const formats = "../../testdata/formats"

// saved is what a device and a server said that they have saved.
type saved struct {
	Job     string            `json:"job"`
	Entries map[string]bool   `json:"entries"` // by hash: whether the server has it
	Bytes   map[string]string `json:"bytes"`   // envelopes as they were written
	Photo   jobs.Hash         `json:"photo"`
	Notes   []string          `json:"notes"`
}

// What every earlier version saved is there with this one: it opens the folders, shows the same records, and device and server go
// on from there.
func TestFormats(t *testing.T) {
	if name := os.Getenv("TACET_FREEZE"); name != "" {
		freeze(t, filepath.Join(formats, name+".tar.gz"))
	}
	list, err := filepath.Glob(filepath.Join(formats, "*.tar.gz"))
	if err != nil || len(list) == 0 {
		t.Fatal("no format is kept", err)
	}
	for _, file := range list {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".tar.gz"), func(t *testing.T) { opens(t, file) })
	}
}

func opens(t *testing.T, file string) {
	dir := t.TempDir()
	unpack(t, file, dir)
	data, err := os.ReadFile(filepath.Join(dir, "saved.json"))
	if err != nil {
		t.Fatal(err)
	}
	var s saved
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	server := hometest.StartIn(t, filepath.Join(dir, "server"))
	h := open(t, filepath.Join(dir, "home"))
	device := &storetest.Side{Name: "the device", Store: h.Store, Replica: h.Replica, Blobs: h.Blobs, Saved: map[jobs.Hash]bool{}}
	desk := &storetest.Side{Name: "the server", Store: server.Store, Replica: server.Replica, Blobs: server.Blobs, Saved: map[jobs.Hash]bool{}}
	for text, sent := range s.Entries {
		hash, err := jobs.ParseHash(text)
		if err != nil {
			t.Fatal(err)
		}
		device.Saved[hash] = true
		if sent {
			desk.Saved[hash] = true
		}
	}
	both := func(when string) {
		t.Helper()
		for _, side := range []*storetest.Side{device, desk} {
			if err := side.Check(t.Context(), h.Me.Company); err != nil {
				t.Errorf("%s: %v", when, err)
			}
			for hash := range side.Saved {
				if e := side.Rows().Entries[hash]; string(e.Env) != s.Bytes[hash.String()] {
					t.Errorf("%s, %s: entry %s is not as it was written", when, side.Name, hash)
				}
			}
		}
	}
	both("opened")
	if err := h.MoveServer(t.Context(), server.URL); err != nil {
		t.Fatal(err)
	}
	if err := h.SignIn(t.Context(), "idris", hometest.Password); err != nil { // whatever was kept of a sign-in has run out
		t.Fatal(err)
	}
	say(t, h, s.Job, "with the version of today")
	rep, err := h.Sync(t.Context())
	if err != nil || rep.Waiting != 0 || rep.Held != 0 || rep.Photos != 0 {
		t.Errorf("%+v, %v", rep, err)
	}
	desk.Saved = device.Saved
	both("exchanged")
	j, err := server.Replica.Job(t.Context(), h.Me.Company, s.Job)
	if err != nil {
		t.Fatal(err)
	}
	shown, err := j.Export()
	if err != nil {
		t.Fatal(err)
	}
	for _, words := range append(s.Notes, "with the version of today") {
		if !bytes.Contains(shown, []byte(words)) {
			t.Errorf("the server does not show %q", words)
		}
	}
	if string(shown) != settled(t, h, s.Job) {
		t.Error("device and server hold different jobs")
	}
	for _, blobs := range []replica.Blobs{h.Blobs, server.Blobs} {
		if data, err := blobs.Get(t.Context(), h.Me.Company, s.Photo); err != nil || jobs.HashBlob(data) != s.Photo {
			t.Errorf("the photo: %v", err)
		}
	}
}

// frozen is the job of a format. Masses: common practice, no source.
const frozen = `{"do":"job","name":"7b Lantern Row"}|{"do":"surface","code":"C1","kind":"ceiling","width_m":4,"height_m":2.5}|` +
	`{"do":"specify","surface":"C1","specified":[{"kind":"cavity","depth_mm":45,"frame":{"kind":"independent","mass_kg_m2":2}},` +
	`{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}`

// freeze writes what the version of today leaves on the disk: a job with records of many kinds, a photo that is at the server, and
// records that were not sent.
func freeze(t *testing.T, file string) {
	if _, err := os.Stat(file); !errors.Is(err, fs.ErrNotExist) {
		t.Fatalf("%s is there, and is never written anew: %v", file, err)
	}
	dir := t.TempDir()
	server := hometest.StartIn(t, filepath.Join(dir, "server"))
	server.AddFirm(map[string]jobs.Role{"idris": jobs.Supervisor})
	h, err := home.Open(t.Context(), filepath.Join(dir, "home"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.Join(t.Context(), server.URL, server.Code("idris"), "tablet"); err != nil {
		t.Fatal(err)
	}
	s := saved{Entries: map[string]bool{}, Bytes: map[string]string{}}
	if s.Job, err = h.NewJob(t.Context(), edges(frozen)); err != nil {
		t.Fatal(err)
	}
	shot := filepath.Join(t.TempDir(), "shot.png")
	picture(t, shot, 40)
	data, err := os.ReadFile(shot)
	if err != nil {
		t.Fatal(err)
	}
	if data, err = photo.Prepare("shot.png", data); err != nil {
		t.Fatal(err)
	}
	if s.Photo, err = h.Blobs.Put(t.Context(), h.Me.Company, data); err != nil {
		t.Fatal(err)
	}
	for _, edge := range []string{
		`{"do":"install","surface":"C1","layer":2,"share":0.5,"note":"half of it"}`,
		`{"do":"check","surface":"C1","layer":2,"check":"K23","result":"fail","evidence":2,"measured":{"gap_mm":3,"length_m":1},"note":"open at the head"}`,
		`{"do":"photo","surface":"C1","file":"` + s.Photo.String() + `"}`,
		`{"do":"complaint","words":"steps at night","kind":"footsteps","received":"2026-11-20","surface":"C1","from":"Mrs Lindqvist"}`,
		`{"do":"note","text":"sent by this version"}`,
	} {
		if _, err := h.Replica.Record(t.Context(), h.Me.Company, h.Author(), s.Job, edges(edge)); err != nil {
			t.Fatal(err)
		}
	}
	if rep, err := h.Sync(t.Context()); err != nil || rep.Waiting+rep.Photos != 0 {
		t.Fatalf("%+v, %v", rep, err)
	}
	say(t, h, s.Job, "not sent by this version")
	s.Notes = []string{"sent by this version", "not sent by this version", "open at the head", "half of it", "steps at night"}
	here, err := storetest.ReadRows(t.Context(), h.Store, h.Me.Company)
	if err != nil {
		t.Fatal(err)
	}
	there, err := storetest.ReadRows(t.Context(), server.Store, h.Me.Company)
	if err != nil {
		t.Fatal(err)
	}
	for hash, e := range here.Entries {
		_, sent := there.Entries[hash]
		s.Entries[hash.String()], s.Bytes[hash.String()] = sent, string(e.Env)
	}
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
	server.Stop()
	if data, err = json.MarshalIndent(s, "", " "); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "saved.json"), data, 0o600); err != nil {
		t.Fatal(err)
	}
	pack(t, dir, file)
}

func pack(t *testing.T, dir, file string) {
	t.Helper()
	files := map[string][]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err == nil {
			files[filepath.ToSlash(name)], err = os.ReadFile(path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	w := tar.NewWriter(z)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		err := w.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: int64(len(files[name]))})
		if err == nil {
			_, err = w.Write(files[name])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(w.Close(), z.Close(), os.MkdirAll(filepath.Dir(file), 0o755), os.WriteFile(file, b.Bytes(), 0o644)); err != nil {
		t.Fatal(err)
	}
}

func unpack(t *testing.T, file, dir string) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil || !filepath.IsLocal(h.Name) {
			t.Fatal(fmt.Sprint(h), err)
		}
		data, err := io.ReadAll(r)
		path := filepath.Join(dir, filepath.FromSlash(h.Name))
		if err := errors.Join(err, os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, data, 0o600)); err != nil {
			t.Fatal(err)
		}
	}
}
