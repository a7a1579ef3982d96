package jobs_test

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"testing"

	"tacet/jobs"
)

// foreign is what a program of another make may write with this device's key: what was typed, with envelope and body then changed.
func (d *device) foreign(edge string, change func(env *jobs.Envelope, body map[string]any)) jobs.Entry {
	d.t.Helper()
	draft, err := jobs.Compose(d.job, jobs.Author{Person: d.by, Role: d.role}, []byte(edge))
	if err != nil {
		d.t.Fatalf("%s: %v", edge, err)
	}
	body := objectIn(d.t, draft.Body)
	env := jobs.Envelope{ID: fmt.Sprintf("%08x-0000-7000-8000-%s", d.seq+1, d.id[24:]), Co: company, Job: jobID, Dev: d.id, Seq: d.seq + 1, Prev: d.prev, Run: d.seq + 1,
		Clk: d.clk.Next(d.now), By: d.by, Role: d.role, Kind: draft.Kind, KV: draft.KV, On: draft.On, Refs: draft.Refs, Blobs: draft.Blobs}
	change(&env, body)
	data, err := jobs.Canonical(body)
	if err != nil {
		d.t.Fatal(err)
	}
	e, err := jobs.NewEntry(env, data)
	if err != nil {
		d.t.Fatal(err)
	}
	e.Key = draft.Key
	return e
}

// The rules ask about the place at which a record is filed, and about the photos that it names, whatever else its body says of them.
func TestEnvelopeSaysWhereAndWith(t *testing.T) {
	sup := newDevice(t, 1, jobs.Supervisor)
	sup.start(house)
	sup.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	other := newDevice(t, 2, jobs.Site)
	other.takes(sup)
	other.record(`{"do":"note","text":"looked in"}`)
	sup.takes(other) // who records alone may accept everything
	for _, edge := range []string{`{"do":"release","surface":"C1","checks":["K01"],"layer":2}`, `{"do":"sign_off","surface":"C1","layer":2}`} {
		e := sup.foreign(edge, func(env *jobs.Envelope, body map[string]any) {
			env.On.Layer, body["layer"] = 0, 2
		})
		if err := jobs.Admit(sup.job, e); !errors.Is(err, jobs.ErrRefused) {
			t.Errorf("%s counts for the whole surface, and was asked about a layer of others: %v", edge, err)
		}
	}
	photo := jobs.HashBlob([]byte("a photo")).String()
	e := other.foreign(`{"do":"note","text":"as the photo shows"}`, func(_ *jobs.Envelope, body map[string]any) { body["photos"] = []any{photo} })
	other.job.Add(e)
	if r := other.job.ByID(e.ID); len(r.Common().Photos) > 0 || len(r.Blobs) > 0 {
		t.Errorf("it shows photos %v, and names %v", r.Common().Photos, r.Blobs)
	}
}

// sealedAs seals whatever is given, as a program of another make may.
func sealedAs(t *testing.T, key []byte, plain string, fields ...any) map[string]any {
	t.Helper()
	block, err := aes.NewCipher(key)
	if err != nil {
		t.Fatal(err)
	}
	box, err := cipher.NewGCM(block)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(append([]byte("tacet record key 1\n"), key...))
	return map[string]any{"fields": fields, "key": base64.RawURLEncoding.EncodeToString(sum[:]),
		"text": base64.RawURLEncoding.EncodeToString(box.Seal(nil, make([]byte, 12), []byte(plain), nil))}
}

// Whatever is sealed, whoever has the key reads the same of the work as whoever has not: no words can be taken for whose work it was, and none
// make a record unreadable.
func TestWorkIsTheSameWithoutKeys(t *testing.T) {
	key := bytes.Repeat([]byte{7}, jobs.KeySize)
	for _, plain := range []string{`{"by":"0197a000-0000-7000-8000-0000000a0002"}`, `{"by":""}`, `{"by":7}`, `{"by":null}`, `{"by":["Osric"]}`, `{"by":{"note":"x"}}`, `[]`, `{"by":"Osric","by":""}`} {
		t.Run(plain, func(t *testing.T) {
			site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
			site.start(house)
			sup.takes(site)
			sup.record(`{"do":"note","text":"seen"}`)
			site.takes(sup)
			accepts := sup.foreign(`{"do":"release","surface":"C1","checks":["K01"]}`, func(*jobs.Envelope, map[string]any) {})
			e := site.foreign(`{"do":"install","surface":"C1","layer":1,"share":1}`, func(_ *jobs.Envelope, body map[string]any) {
				body["sealed"] = sealedAs(t, key, plain, "by")
			})
			e.Key = key
			if !e.OpenedBy(key) && plain != `[]` {
				t.Fatal("the key does not open it")
			}
			var states []string
			for _, key := range [][]byte{key, nil} {
				e.Key = key
				j := jobs.Fold(jobID, company, append(site.job.Entries(), e))
				states = append(states, fmt.Sprint(jobs.Admit(site.job, e), j.Unread, j.Surface("C1").Layer(1).State, j.ByID(e.ID).Doer() == site.by, jobs.Admit(j, accepts)))
			}
			if states[0] != states[1] {
				t.Errorf("with the key %s, without %s", states[0], states[1])
			}
		})
	}
}

// What can be chosen among a few words is sealed too where it is somebody's opinion. A record whose key is gone stands as it did.
func TestSealedChoicesStandWithoutKeys(t *testing.T) {
	d := newDevice(t, 1, jobs.Office)
	d.start(house)
	e := d.record(`{"do":"follow_up","month":3,"answers":{"voices":2},"recommend":"yes"}`)
	if e.Key == nil {
		t.Fatal("an opinion is not sealed")
	}
	e.Key = nil
	if err := jobs.Admit(d.job, e); err != nil {
		t.Errorf("once erased: %v", err)
	}
	if wrong := d.foreign(`{"do":"follow_up","month":3,"answers":{"voices":2}}`, func(_ *jobs.Envelope, body map[string]any) { body["recommend"] = "twice" }); jobs.Admit(d.job, wrong) == nil {
		t.Error("a word that is none of them stands")
	}
}

// Codes, and the name of a kind, are shown and filed as they are: what holds control characters, or is no name, is no entry.
func TestEnvelopeHoldsPlainCodes(t *testing.T) {
	d := newDevice(t, 1, jobs.Site)
	d.start(house)
	for name, change := range map[string]func(*jobs.Envelope){
		"kind with NUL":         func(e *jobs.Envelope) { e.Kind = "later\x00" },
		"kind with a space":     func(e *jobs.Envelope) { e.Kind = "note " },
		"kind that looks alike": func(e *jobs.Envelope) { e.Kind = "n\u043ete" },
		"surface":               func(e *jobs.Envelope) { e.On.Surface = "C1\x00" },
		"check":                 func(e *jobs.Envelope) { e.On.Check = "K\x1b[2J" },
		"room":                  func(e *jobs.Envelope) { e.On.Room = "\u0085" },
		"structure":             func(e *jobs.Envelope) { e.On.Structure = "\n" },
		"epoch":                 func(e *jobs.Envelope) { e.Seen.Epoch = "\x00" },
	} {
		env := d.own[0].Envelope
		env.Kind, env.KV = "later", 1
		if _, err := jobs.NewEntry(env, d.own[0].Data); err != nil {
			t.Fatal(err)
		}
		change(&env)
		var in *jobs.InputError
		if _, err := jobs.NewEntry(env, d.own[0].Data); !errors.As(err, &in) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Rulings on rulings on rulings, each on all of the row before, are settled as any: who asks does not go every way through them.
func TestRowsOfRulings(t *testing.T) {
	d := newDevice(t, 1, jobs.Supervisor)
	d.start(house)
	before := []string{d.record(`{"do":"note","surface":"C1","text":"a"}`).ID, d.record(`{"do":"note","surface":"C1","text":"b"}`).ID}
	first := before[0]
	const rows = 40 // 2^40 ways
	for range rows {
		edge := fmt.Sprintf(`{"do":"ruling","on":[%q,%q],"keeps":"none","reason":"x"}`, before[0], before[1])
		before = []string{d.record(edge).ID, d.record(edge).ID}
	}
	// The last row counts, so the one before it does not, and so on by turns: the row on the notes is one that does not.
	if r := d.job.ByID(first); !d.job.InForce(r) {
		t.Error("a note is out of force by rulings that are themselves")
	}
	if r := d.job.ByID(before[0]); !d.job.InForce(r) {
		t.Error("the last ruling is not in force")
	}
}
