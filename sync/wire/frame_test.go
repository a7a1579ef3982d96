package wire_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

func batch() replica.Batch {
	return replica.Batch{
		Entries: []replica.Raw{{Env: []byte(`{"a":"<é & \"q\">"}`), Body: []byte(`{"b":1}`)}, {Env: []byte(`{"a":2}`)}},
		Seals:   []replica.Seal{{Co: "c", Dev: "d", Job: "j", Seq: 2, H: jobs.Hash{1}, Run: 2, Sig: []byte{1, 2, 3}}},
	}
}

// The bytes of an entry arrive as they were written, whatever stands in them.
func TestBatchThereAndBack(t *testing.T) {
	var b bytes.Buffer
	if err := wire.WriteBatch(&b, batch()); err != nil {
		t.Fatal(err)
	}
	got, err := wire.ReadBatch(&b)
	if err != nil {
		t.Fatal(err)
	}
	want := batch()
	for i, e := range want.Entries {
		if string(got.Entries[i].Env) != string(e.Env) || string(got.Entries[i].Body) != string(e.Body) {
			t.Errorf("entry %d: %s %s", i, got.Entries[i].Env, got.Entries[i].Body)
		}
	}
	if got.Entries[1].Body != nil {
		t.Error("a body that is not there came as an empty one")
	}
	if len(got.Seals) != 1 || got.Seals[0].H != want.Seals[0].H || string(got.Seals[0].Sig) != string(want.Seals[0].Sig) {
		t.Errorf("seals %+v", got.Seals)
	}
}

// A stream that is cut anywhere is never a result.
func TestCutAnywhere(t *testing.T) {
	var b bytes.Buffer
	if err := wire.WritePage(&b, replica.Page{Acts: []replica.Act{{N: 1, Act: "stand", Raw: replica.Raw{Env: []byte(`{}`)}}}, Cursor: replica.Cursor{Epoch: "e", N: 1}}); err != nil {
		t.Fatal(err)
	}
	whole := b.Bytes()
	if _, err := wire.ReadPage(bytes.NewReader(whole)); err != nil {
		t.Fatal(err)
	}
	for i := range len(whole) - 1 { // all but the newline at the end
		if _, err := wire.ReadPage(bytes.NewReader(whole[:i])); err == nil {
			t.Errorf("cut at byte %d of %d: a result", i, len(whole))
		}
	}
}

func TestBadFrames(t *testing.T) {
	for name, text := range map[string]string{
		"no trailer":             `{"entry":{"e":"{}"}}`,
		"a wrong count":          `{"entry":{"e":"{}"}}` + "\n" + `{"end":{"frames":2}}`,
		"not JSON":               `hello`,
		"not UTF-8":              "{\"entry\":{\"e\":\"\xff\"}}\n{\"end\":{\"frames\":1}}",
		"something behind it":    `{"end":{"frames":0}}` + "\n" + `{"entry":{"e":"{}"}}`,
		"a page of some captive": `<html><body>Sign in to the free network</body></html>`,
		"a line without end":     `{"entry":{"e":"` + strings.Repeat("x", 300<<10),
	} {
		if _, err := wire.ReadBatch(strings.NewReader(text)); !errors.Is(err, replica.ErrBadFrame) {
			t.Errorf("%s: %v", name, err)
		}
	}
	many := strings.Repeat(`{"entry":{"e":"{}"}}`+"\n", replica.MaxBatch+1)
	if _, err := wire.ReadBatch(strings.NewReader(many)); !errors.Is(err, replica.ErrTooLarge) {
		t.Errorf("too many: %v", err)
	}
}

// A newer program may say more: unknown frames and keys are passed over.
func TestNewerFrames(t *testing.T) {
	text := `{"verdict":{"id":"a","state":"standing","n":1,"mood":"good"}}` + "\n" + `{"weather":{"rain":true}}` + "\n" + `{"end":{"frames":2,"time":5}}`
	a, err := wire.ReadAnswer(strings.NewReader(text))
	if err != nil || len(a.Verdicts) != 1 || a.Time != 5 {
		t.Errorf("%+v, %v", a, err)
	}
}

func TestCursorThereAndBack(t *testing.T) {
	c := replica.Cursor{Epoch: "e1", N: 12, Head: jobs.Hash{9}, Sig: []byte{1, 2}}
	got, err := wire.ParseCursor(wire.FormatCursor(c))
	if err != nil || got.Epoch != c.Epoch || got.N != c.N || got.Head != c.Head || string(got.Sig) != string(c.Sig) {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := wire.ParseCursor(""); err != nil || got.N != 0 {
		t.Errorf("%+v, %v", got, err)
	}
	for _, s := range []string{"x", "e.1.2", "e.-1..", ".1..", "e.1.nohash.", "e.1..!!"} {
		if _, err := wire.ParseCursor(s); !errors.Is(err, replica.ErrBadFrame) {
			t.Errorf("%q: %v", s, err)
		}
	}
}

func FuzzReadBatch(f *testing.F) {
	var b bytes.Buffer
	if err := wire.WriteBatch(&b, batch()); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte(`{"end":{"frames":0}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := wire.ReadBatch(bytes.NewReader(data))
		if err != nil {
			return
		}
		var again bytes.Buffer
		if err := wire.WriteBatch(&again, got); err != nil {
			t.Fatal(err)
		}
		back, err := wire.ReadBatch(&again)
		if err != nil || len(back.Entries) != len(got.Entries) {
			t.Fatalf("what was read can't be read again: %v", err)
		}
		for i := range got.Entries {
			if !bytes.Equal(back.Entries[i].Env, got.Entries[i].Env) || !bytes.Equal(back.Entries[i].Body, got.Entries[i].Body) {
				t.Fatal("other bytes")
			}
		}
	})
}

func FuzzParseCursor(f *testing.F) {
	f.Add("e1.12.AQAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA.AQI")
	f.Fuzz(func(t *testing.T, s string) {
		if c, err := wire.ParseCursor(s); err == nil {
			if back, err := wire.ParseCursor(wire.FormatCursor(c)); err != nil || back.N != c.N || back.Head != c.Head {
				t.Fatalf("%q: %+v, %v", s, back, err)
			}
		}
	})
}
