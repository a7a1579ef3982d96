package home_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/sync/replica"
)

const wall = `{"do":"job","name":"Wall"}|{"do":"surface","code":"W1","kind":"wall","width_m":4,"height_m":2.5}|` +
	`{"do":"specify","surface":"W1","specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}`

func edges(text string) []json.RawMessage {
	var es []json.RawMessage
	for e := range strings.SplitSeq(text, "|") {
		es = append(es, json.RawMessage(e))
	}
	return es
}

func open(t *testing.T, dir string) *home.Home {
	t.Helper()
	h, err := home.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := h.Close(); err != nil {
			t.Error(err)
		}
	})
	return h
}

func Example() {
	dir, err := os.MkdirTemp("", "home")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	h, err := home.Open(ctx, dir)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer h.Close()
	job, err := h.NewJob(ctx, edges(wall))
	if err != nil {
		fmt.Println(err)
		return
	}
	done, err := h.Record(ctx, job, home.Batch{JSON: []byte(`{"do":"install","surface":"W1","layer":1,"share":0.5}`)})
	fmt.Println(len(done.Entries), err)
	_, err = h.Record(ctx, job, home.Batch{JSON: []byte(`[{"do":"install","surface":"W1","layer":1,"share":0.7}]`)})
	fmt.Println(err)
	// Output:
	// 1 <nil>
	// [0].share is 0.7; give at most 0.5; 50 % of layer 1 is recorded already; name the entry that this one supersedes with over
}

// Processes that start in the same empty folder at once settle on one identity, and what each records is in one lane.
func TestFirstStartsAtOnce(t *testing.T) {
	dir := t.TempDir()
	const n = 6
	homes := make([]*home.Home, n)
	errs := make([]error, n)
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() { homes[i], errs[i] = home.Open(t.Context(), dir) })
	}
	all.Wait()
	for i, h := range homes {
		if errs[i] != nil {
			t.Fatal(errs[i])
		}
		t.Cleanup(func() { _ = h.Close() })
		if h.Me.Device != homes[0].Me.Device || h.Me.Company != homes[0].Me.Company || h.Me.Person != homes[0].Me.Person {
			t.Fatalf("home %d is %+v, the first %+v", i, h.Me, homes[0].Me)
		}
	}
	keys, err := os.ReadDir(filepath.Join(dir, "keys"))
	if err != nil || len(keys) != 1 {
		t.Errorf("%d keys, %v; want the one that is used", len(keys), err)
	}
	job, err := homes[0].NewJob(t.Context(), edges(wall))
	if err != nil {
		t.Fatal(err)
	}
	for i, h := range homes {
		all.Go(func() {
			for k := range 5 {
				_, errs[i] = h.Record(t.Context(), job, home.Batch{JSON: fmt.Appendf(nil, `{"do":"note","text":"%d %d"}`, i, k)})
			}
		})
	}
	all.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	p, err := homes[0].Replica.Prove(t.Context(), homes[0].Me.Company, job)
	if err != nil || p.Entries != 3+5*n || p.Lanes != 1 {
		t.Errorf("%+v, %v; want %d entries in one lane", p, err, 3+5*n)
	}
}

func TestSecretsAreTheirOwnersAlone(t *testing.T) {
	dir := t.TempDir()
	h := open(t, dir)
	for _, name := range []string{"keys/" + h.Me.Device + ".key", "record.db"} {
		info, err := os.Stat(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
	}
	data, err := os.ReadFile(filepath.Join(dir, "keys", h.Me.Device+".key"))
	if err != nil {
		t.Fatal(err)
	}
	db, err := os.ReadFile(filepath.Join(dir, "record.db"))
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(db, bytes.TrimSpace(data)) {
		t.Error("the key is in the database")
	}
	if err := os.Remove(filepath.Join(dir, "keys", h.Me.Device+".key")); err != nil {
		t.Fatal(err)
	}
	if _, err := home.Open(t.Context(), dir); err == nil || !strings.Contains(err.Error(), "the key of this device is gone") {
		t.Errorf("without its key: %v", err)
	}
}

func picture(t *testing.T, path string, shade byte) {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 64, 48))
	for i := range img.Pix {
		img.Pix[i] = shade
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestPhotosGoWhereTheyAreNamed(t *testing.T) {
	h := open(t, t.TempDir())
	job, err := h.NewJob(t.Context(), edges(wall))
	if err != nil {
		t.Fatal(err)
	}
	beside, elsewhere := t.TempDir(), t.TempDir()
	picture(t, filepath.Join(beside, "a.png"), 10)
	picture(t, filepath.Join(elsewhere, "b.png"), 20)
	picture(t, filepath.Join(elsewhere, "c.png"), 30)
	b, c := filepath.Join(elsewhere, "b.png"), filepath.Join(elsewhere, "c.png")
	for _, tt := range []struct {
		name, json string
		photos     []string
		want       []int  // photos of each entry
		says       string // of the refusal
	}{
		{"beside the file", `{"do":"note","text":"x","photos":["a.png"]}`, nil, []int{1}, ""},
		{"given and named", `[{"do":"note","text":"x"},{"do":"note","text":"y","photos":["b.png","a.png"]}]`, []string{b}, []int{0, 2}, ""},
		{"given to the only one", `{"do":"note","text":"x"}`, []string{b, c}, []int{2}, ""},
		{"given to a photo record", `[{"do":"note","text":"x"},{"do":"photo","surface":"W1"},{"do":"photo","surface":"W1"}]`, []string{b, c}, []int{0, 1, 1}, ""},
		{"named as the file", `{"do":"photo","file":"c.png"}`, []string{c}, []int{1}, ""},
		{"given and nobody's", `[{"do":"note","text":"x"},{"do":"note","text":"y"}]`, []string{b}, nil, "no object of the list names it"},
		{"not there", `{"do":"note","text":"x","photos":["d.png"]}`, nil, nil, "there is no such file"},
		{"not a list", `{"do":"note","text":"x","photos":"a.png"}`, nil, nil, "not a list of file names"},
		{"an empty name", `{"do":"note","text":"x","photos":[""]}`, nil, nil, "an empty name"},
		{"a folder", `{"do":"note","text":"x","photos":["."]}`, nil, nil, "no file"},
		{"null", `{"do":"note","text":"x","photos":null}`, nil, []int{0}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			done, err := h.Record(t.Context(), job, home.Batch{JSON: []byte(tt.json), Beside: beside, Photos: tt.photos})
			if tt.says != "" {
				var in *jobs.InputError
				if !errors.As(err, &in) || !strings.Contains(err.Error(), tt.says) {
					t.Fatalf("got %v, want bad input that says %q", err, tt.says)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			for i, e := range done.Entries {
				if len(e.Blobs) != tt.want[i] {
					t.Errorf("entry %d has %d photos, want %d", i, len(e.Blobs), tt.want[i])
				}
				for _, b := range e.Blobs {
					data, err := h.Replica.Photo(t.Context(), h.Me.Company, job, b)
					if err != nil {
						t.Fatal(err)
					}
					if !bytes.HasPrefix(data, []byte{0xff, 0xd8}) {
						t.Error("what is kept is no JPEG")
					}
				}
			}
		})
	}
}

func TestFindTheJobThatIsMeant(t *testing.T) {
	h := open(t, t.TempDir())
	ids := map[string]string{}
	for _, name := range []string{"Lantern Row", "9 Lantern Row", "Ropewalk"} {
		id, err := h.NewJob(t.Context(), edges(strings.Replace(wall, `"Wall"`, `"`+name+`"`, 1)))
		if err != nil {
			t.Fatal(err)
		}
		ids[name] = id
	}
	for typed, want := range map[string]string{
		"ropewalk": "Ropewalk", "ROPE": "Ropewalk", "lantern row": "Lantern Row", "9 lan": "9 Lantern Row", ids["Ropewalk"]: "Ropewalk", " walk ": "Ropewalk",
	} {
		row, err := h.Find(t.Context(), typed)
		if err != nil || row.ID != ids[want] {
			t.Errorf("%q is %q, %v; want %q", typed, row.Name, err, want)
		}
	}
	for _, typed := range []string{"lantern", "", "nothing", ids["Ropewalk"][:8], "%", "_"} {
		var in *jobs.InputError
		if row, err := h.Find(t.Context(), typed); !errors.As(err, &in) {
			t.Errorf("%q is %q, %v; want bad input", typed, row.Name, err)
		}
	}
}

func TestWithoutAServer(t *testing.T) {
	h := open(t, t.TempDir())
	if _, err := h.Sync(t.Context()); !errors.Is(err, replica.ErrNotEnrolled) {
		t.Errorf("sync: %v", err)
	}
	if _, err := h.Join(t.Context(), "http://office.example.org", "ABCD", "x"); !errors.Is(err, replica.ErrInsecure) {
		t.Errorf("join over plain http: %v", err)
	}
	if _, err := h.Join(t.Context(), "http://127.0.0.1:1", "ABCD", "x"); !errors.Is(err, replica.ErrUnreachable) {
		t.Errorf("join where nobody listens: %v", err)
	}
	if c, err := h.Contact(); err != nil || c.State != "" {
		t.Errorf("nobody was asked, and the note says %+v, %v", c, err)
	}
}
