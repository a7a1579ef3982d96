package phone_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

var update = flag.Bool("update", false, "write the vectors anew")

// vector is one thing that Go and the browser must both make of the same input, to the byte.
type vector struct {
	What string `json:"what"`
	In   any    `json:"in"`
	Out  any    `json:"out"`
}

// vectorFile is what the browser's test reads as well.
var vectorFile = filepath.Join("..", "..", "testdata", "vectors", "record.json")

const (
	company = "01900000-0000-7000-8000-00000000c001"
	device  = "01900000-0000-7000-8000-00000000d001"
	job     = "01900000-0000-7000-8000-00000000a001"
	person  = "01900000-0000-7000-8000-00000000b001"
)

// What is in the file is what Go makes today. A change here is a change of the format of the record.
func TestVectors(t *testing.T) {
	got := mustJSON(t, vectors(t))
	if *update {
		if err := os.MkdirAll(filepath.Dir(vectorFile), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(vectorFile, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(vectorFile)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not what is made today; look at the difference before -update", vectorFile)
	}
	if n := bytes.Count(got, []byte(`"what"`)); n < 60 {
		t.Errorf("only %d vectors", n)
	}
}

func mustJSON(t *testing.T, v any) []byte {
	t.Helper()
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetIndent("", " ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// odd are texts in which writers of JSON differ.
var odd = []string{"", "plain", `"quoted" \back/`, "line\nfeed\r\ttab\b\f", "\x00\x01\x1f\x7f", "<script>&amp;</script>", "12.6", "é ß Ł 漢", "\u2028\u2029", "😀 𝄞", "\ufeff", "a\u0301"}

func vectors(t *testing.T) []vector {
	t.Helper()
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))
	var vs []vector
	add := func(what string, in, out any) { vs = append(vs, vector{what, in, out}) }

	for _, text := range odd {
		add("canonical", text, canonicalText(t, text))
	}
	for _, text := range []string{`null`, `true`, `[]`, `{}`, `[1,-1,0,9007199254740991,-9007199254740991]`, `{"b":1,"a":[{"z":"x","y":null}],"A":false,"a b":"","~":[[]]}`} {
		var v any
		d := json.NewDecoder(strings.NewReader(text))
		d.UseNumber()
		if err := d.Decode(&v); err != nil {
			t.Fatal(err)
		}
		add("canonical", json.RawMessage(text), canonicalText(t, v))
	}
	for _, text := range []string{`1.5`, `9007199254740992`, `{"é":1}`} {
		if err := jobs.CheckCanonical([]byte(text)); err == nil {
			t.Fatalf("%s has a canonical form", text)
		}
		add("refused", json.RawMessage(text), true)
	}

	entries := chain(t)
	for i, e := range entries {
		var env, body any
		if err := json.Unmarshal(e.Env, &env); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(e.Data, &body); err != nil {
			t.Fatal(err)
		}
		add("entry", map[string]any{"env": env, "body": body}, map[string]any{"h": e.Hash, "e": string(e.Env), "b": string(e.Data)})
		s := replica.Seal{Co: e.Co, Dev: e.Dev, Job: e.Job, Seq: e.Seq, H: e.Hash, Run: e.Run}
		if err := s.Sign(key); err != nil {
			t.Fatal(err)
		}
		add("seal", map[string]any{"key": key.Seed(), "seal": replica.Seal{Co: s.Co, Dev: s.Dev, Job: s.Job, Seq: s.Seq, H: s.H, Run: s.Run}}, s.Sig)
		r := replica.Receipt{Co: e.Co, Epoch: "epoch1", N: int64(i + 1), Dev: e.Dev, Job: e.Job, Seq: e.Seq, H: e.Hash, At: 1764000000000}
		if err := r.Sign(key); err != nil {
			t.Fatal(err)
		}
		add("receipt", map[string]any{"key": key.Public(), "receipt": r}, true)
		r.N++
		add("receipt", map[string]any{"key": key.Public(), "receipt": r}, false)
	}
	var head, sum jobs.Hash
	for i, e := range entries {
		next := replica.NextHead(head, int64(i+1), "stand", e.Hash)
		add("head", map[string]any{"head": head, "n": i + 1, "act": "stand", "h": e.Hash}, next)
		head = next
		c := replica.Cursor{Epoch: "epoch1", N: int64(i + 1), Head: head}
		if err := c.Sign(company, key); err != nil {
			t.Fatal(err)
		}
		add("cursor", map[string]any{"key": key.Public(), "co": company, "cursor": c}, true)
		add("cursor", map[string]any{"key": key.Public(), "co": job, "cursor": c}, false)
		add("cursor text", c, wire.FormatCursor(c))
		sum = plus(sum, e.Hash)
	}
	add("sum", hashes(entries), sum)

	proof := wire.EnrolRequest{Device: device, Code: "7Q2M-0XHB-D9KT-4RWA"}
	text, err := proof.Signed(1764000000000)
	if err != nil {
		t.Fatal(err)
	}
	add("proof", map[string]any{"for": "enrol", "dev": device, "of": proof.Code, "at": 1764000000000}, string(text))
	add("key id", key.Public(), wire.KeyID(key.Public().(ed25519.PublicKey)))
	add("digest", "a photo", wire.ContentDigest([]byte("a photo")))
	clocks(add)
	codes(t, add)
	return vs
}

func canonicalText(t *testing.T, v any) string {
	t.Helper()
	b, err := jobs.Canonical(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// chain is a lane of entries in which every field of the envelope is used and left out once.
func chain(t *testing.T) []jobs.Entry {
	t.Helper()
	var list []jobs.Entry
	var prev jobs.Hash
	for i, text := range odd[1:] {
		body := canonicalText(t, map[string]any{"text": text, "salt": "AAAAAAAAAAAAAAAAAAAAAA", "measured": map[string]any{"gap_mm": "4.50"}, "evidence": 3})
		env := jobs.Envelope{ID: "01900000-0000-7000-8000-00000000e0" + string("0123456789ab"[i/10]) + string("0123456789"[i%10]), Co: company, Job: job, Dev: device, Seq: int64(i + 1), Prev: prev, Run: int64(i + 3),
			Clk: jobs.ClockAt(time.UnixMilli(1764000000000 + int64(i))), Off: int64(-1500 * i), By: person, Role: jobs.Site, Kind: "note", KV: 1}
		if i > 1 {
			env.Seen = jobs.Seen{Epoch: "epoch1", N: int64(i)}
			env.On = jobs.On{Surface: "C1", Layer: i}
		}
		if i > 2 {
			env.On.Check = "K23"
			env.Refs = []jobs.Ref{{H: list[0].Hash, As: jobs.Of}, {H: list[1].Hash, As: jobs.Sees}}
			env.Blobs = []jobs.Hash{jobs.HashBlob([]byte(text))}
		}
		e, err := jobs.NewEntry(env, []byte(body))
		if err != nil {
			t.Fatal(err)
		}
		list, prev = append(list, e), e.Hash
	}
	return list
}

// plus adds hashes modulo 2^256, written here once more.
func plus(a, b jobs.Hash) jobs.Hash {
	carry := 0
	for i := len(a) - 1; i >= 0; i-- {
		v := int(a[i]) + int(b[i]) + carry
		a[i], carry = byte(v), v>>8
	}
	return a
}

func hashes(es []jobs.Entry) []jobs.Hash {
	hs := make([]jobs.Hash, len(es))
	for i, e := range es {
		hs[i] = e.Hash
	}
	return hs
}

func clocks(add func(string, any, any)) {
	text := func(c jobs.Clock) string {
		b, err := c.MarshalText()
		if err != nil {
			panic(err)
		}
		return string(b)
	}
	wall := time.UnixMilli(1764000000000)
	for _, own := range []jobs.Clock{0, jobs.ClockAt(wall), jobs.ClockAt(wall) + 1, jobs.ClockAt(wall) + 0xffff, jobs.ClockAt(wall.Add(time.Hour)), jobs.ClockAt(wall.Add(-time.Millisecond))} {
		add("clock", map[string]any{"own": text(own), "ms": wall.UnixMilli()}, text(own.Next(wall)))
	}
}

func codes(t *testing.T, add func(string, any, any)) {
	t.Helper()
	code := jobs.SheetCode(job, "C1")
	typed := []string{code, strings.ToLower(jobs.FormatSheetCode(code)), "https://tacet.example.org/S/" + code}
	for _, s := range typed {
		add("code", s, code)
	}
	wrong := []string{"", code[:12], code + "0", code[:5] + "U" + code[6:]}
	for i := range len(code) {
		other := "0"
		if code[i] == '0' {
			other = "1"
		}
		wrong = append(wrong, code[:i]+other+code[i+1:])
		if i > 0 && code[i] != code[i-1] {
			wrong = append(wrong, code[:i-1]+code[i:i+1]+code[i-1:i]+code[i+1:])
		}
	}
	for _, s := range wrong {
		if _, err := jobs.ParseSheetCode(s); err == nil {
			t.Fatalf("%s is taken", s)
		}
		add("code", s, "")
	}
}
