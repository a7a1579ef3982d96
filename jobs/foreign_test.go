package jobs_test

import (
	"encoding/json"
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
	var body map[string]any
	if err := json.Unmarshal(draft.Body, &body); err != nil {
		d.t.Fatal(err)
	}
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
