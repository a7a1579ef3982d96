package jobs_test

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tacet/acoustics"
	"tacet/jobs"
)

// Canonical form against RFC 8785 on the subset used: sorted keys, shortest escapes, no spaces (its section 3.2.2 and 3.2.3).
func TestCanonical(t *testing.T) {
	got, err := jobs.Canonical(map[string]any{"b": []any{int64(1), nil, true}, "a": "€ \u000f\n\"\\</", "A": map[string]any{}})
	if err != nil {
		t.Fatal(err)
	}
	want := `{"A":{},"a":"€ \u000f\n\"\\</","b":[1,null,true]}`
	if string(got) != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	for _, bad := range []any{1.5, json.Number("1.5"), json.Number("1e3"), json.Number("-0"), int64(1) << 60, "\xff", map[string]any{"ä": 1}} {
		if out, err := jobs.Canonical(bad); err == nil {
			t.Errorf("%v has no canonical form, got %s", bad, out)
		}
	}
	for _, bad := range []string{`{"a":1 }`, `{"b":1,"a":2}`, `{"a":1,"a":1}`, `{"a":1.0}`, `{"a":"\u0041"}`, `{"a":1}x`, ``, `{"a":"\ud800"}`} {
		if err := jobs.CheckCanonical([]byte(bad)); err == nil {
			t.Errorf("%s passes as canonical", bad)
		}
	}
}

// What is recorded comes back as typed: digits, zeros behind the point, text that looks like a number.
func TestBodyKeepsWhatWasTyped(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	e := d.record(`{"do":"install","surface":"C1","layer":3,"share":0.50,"mass_kg_m2":12.60,"note":"12.60","material":"7"}`)
	if !strings.Contains(string(e.Data), `"mass_kg_m2":"12.60"`) {
		t.Errorf("body %s does not hold the number as typed", e.Data)
	}
	if strings.Contains(string(e.Data), "surface") || e.On.Surface != "C1" || e.On.Layer != 3 {
		t.Errorf("the subject belongs into the envelope: %s on %+v", e.Data, e.On)
	}
	edge, err := d.job.ByID(e.ID).EdgeJSON()
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{`"mass_kg_m2":12.60`, `"share":0.50`, `"note":"12.60"`, `"material":"7"`, `"surface":"C1"`, `"layer":3`} {
		if !strings.Contains(string(edge), part) {
			t.Errorf("%s lacks %s", edge, part)
		}
	}
	if !strings.Contains(export(t, d.job), `"mass_kg_m2":12.60`) {
		t.Error("the export does not hold the number as recorded")
	}
}

// An entry's bytes are fixed: any change of envelope or body is noticed.
func TestTamperedEntry(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	e := d.own[len(d.own)-1]
	if got, err := jobs.ParseEntry(e.Env, e.Data); err != nil || got.Hash != e.Hash {
		t.Fatalf("the entry itself: %v", err)
	}
	rapid.Check(t, func(rt *rapid.T) {
		env, body := bytes.Clone(e.Env), bytes.Clone(e.Data)
		target := env
		if rapid.Bool().Draw(rt, "body") {
			target = body
		}
		i := rapid.IntRange(0, len(target)-1).Draw(rt, "at")
		target[i] ^= byte(rapid.IntRange(1, 255).Draw(rt, "flip"))
		got, err := jobs.ParseEntry(env, body)
		if err == nil && got.Hash == e.Hash {
			rt.Fatal("a changed entry has the same hash and passes")
		}
	})
}

// objectIn reads an object with its numbers as they are written.
func objectIn(t testing.TB, data []byte) (tree map[string]any) {
	t.Helper()
	numbers := json.NewDecoder(bytes.NewReader(data))
	numbers.UseNumber()
	if err := numbers.Decode(&tree); err != nil {
		t.Fatal(err)
	}
	return tree
}

// ofThisVersion leaves in an envelope what version 1 of the protocol names, which a reader may rely on, and nothing else.
func ofThisVersion(t *testing.T, env []byte) []byte {
	named := map[string]string{
		"":     "blobs body by clk co dev id job kind kv len off on prev refs role run seen seq v was",
		"on":   "check layer room structure surface",
		"refs": "as h",
		"seen": "epoch n",
	}
	var only func(within string, value any)
	only = func(within string, value any) {
		switch v := value.(type) {
		case map[string]any:
			for key, member := range v {
				if !slices.Contains(strings.Fields(named[within]), key) {
					delete(v, key)
				} else if _, nested := named[key]; nested && within == "" {
					only(key, member)
				}
			}
		case []any:
			for _, member := range v {
				only(within, member)
			}
		}
	}
	tree := objectIn(t, env)
	only("", tree)
	left, err := json.Marshal(tree)
	if err != nil {
		t.Fatal(err)
	}
	return left
}

func FuzzParseEntry(f *testing.F) {
	d := newDevice(&testing.T{}, 1, jobs.Owner)
	d.start(house)
	for _, e := range d.own {
		f.Add(e.Env, e.Data)
		f.Add([]byte(strings.Replace(string(e.Env), `"on":{`, `"on":{"Layer":7,`, 1)), e.Data)
		f.Add([]byte(strings.Replace(string(e.Env), `,"off":`, `,"ob":[{}],"off":`, 1)), e.Data)
	}
	bands := d.foreign(`{"do":"sound_test","quantity":"dntw_ctr","value_db":42,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"x"}`,
		func(_ *jobs.Envelope, body map[string]any) {
			body["bands_db"] = map[string]any{"100": "50", "0100": "20", "+100": "30"}
		})
	f.Add(bands.Env, bands.Data)
	f.Fuzz(func(t *testing.T, env, body []byte) {
		e, err := jobs.ParseEntry(env, body)
		if err != nil {
			return
		}
		if err := jobs.CheckCanonical(e.Env); err != nil {
			t.Fatalf("parsed, and not canonical: %v", err)
		}
		if kept, err := jobs.ReadEnvelope(env); err != nil || !reflect.DeepEqual(kept, e.Envelope) {
			t.Fatalf("on arrival %+v, from a store %+v, %v", e.Envelope, kept, err)
		}
		var long jobs.Envelope
		if err := acoustics.Decode(ofThisVersion(t, env), &long); err != nil || !reflect.DeepEqual(long, e.Envelope) {
			t.Fatalf("read as %+v, is %+v, %v", e.Envelope, long, err)
		}
		j := jobs.Fold(e.Job, e.Co, []jobs.Entry{e})
		for range 8 { // a map is walked in another order each time
			if again := jobs.Fold(e.Job, e.Co, []jobs.Entry{e}); !reflect.DeepEqual(again.Records[0].What, j.Records[0].What) {
				t.Fatalf("read as %+v, and as %+v", j.Records[0].What, again.Records[0].What)
			}
		}
		if _, err := j.Export(); err != nil {
			t.Fatalf("folded, and can't be exported: %v", err)
		}
		j.View()
	})
}

func FuzzImport(f *testing.F) {
	f.Add([]byte(house))
	f.Add([]byte(`{"name":"x","surfaces":[{"code":"P1","kind":"pipe_run","length_m":2,"specified":[{"kind":"membrane","thickness_mm":5,"mass_kg_m2":10}]}]}`))
	f.Fuzz(func(t *testing.T, file []byte) {
		edges, err := jobs.Import(file)
		if err != nil {
			return
		}
		j := jobs.NewJob(jobID, company)
		d := &device{t: t, id: "0197a000-0000-7000-8000-0000000d0001", by: "0197a000-0000-7000-8000-0000000a0001", role: jobs.Owner, job: j}
		for _, e := range edges {
			d.record(string(e))
		}
		j.View()
	})
}
