package jobs_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"tacet/jobs"
)

// device records into its own copy of one job, as a phone without signal does.
type device struct {
	t    testing.TB
	id   string
	by   string
	role jobs.Role
	now  time.Time
	seq  int64
	prev jobs.Hash
	clk  jobs.Clock
	job  *jobs.Job
	own  []jobs.Entry
}

const (
	company = "0197a000-0000-7000-8000-00000000c000"
	jobID   = "0197a000-0000-7000-8000-00000000b000"
)

func newDevice(t testing.TB, n int, role jobs.Role) *device {
	return &device{t: t, id: fmt.Sprintf("0197a000-0000-7000-8000-0000000d%04d", n), by: fmt.Sprintf("0197a000-0000-7000-8000-0000000a%04d", n),
		role: role, now: time.Date(2026, 3, 2, 8, n, 0, 0, time.UTC), job: jobs.NewJob(jobID, company)}
}

// try records one thing, or says why not.
func (d *device) try(edge string) (jobs.Entry, error) {
	d.t.Helper()
	draft, err := jobs.Compose(d.job, jobs.Author{Person: d.by, Role: d.role}, []byte(edge))
	if err != nil {
		return jobs.Entry{}, err
	}
	d.seq++
	d.now = d.now.Add(time.Minute)
	d.clk = d.clk.Next(d.now)
	e, err := jobs.NewEntry(jobs.Envelope{ID: fmt.Sprintf("%08x-0000-7000-8000-%s", d.seq, d.id[24:]), Co: company, Job: jobID, Dev: d.id, Seq: d.seq, Prev: d.prev,
		Run: d.seq, Clk: d.clk, By: d.by, Role: d.role, Kind: draft.Kind, KV: draft.KV, On: draft.On, Refs: draft.Refs, Blobs: draft.Blobs}, draft.Body)
	if err != nil {
		d.t.Fatalf("%s: %v", edge, err)
	}
	e.Key = draft.Key
	d.prev = e.Hash
	d.own = append(d.own, e)
	d.job.Add(e)
	return e, nil
}

func (d *device) record(edge string) jobs.Entry {
	d.t.Helper()
	e, err := d.try(edge)
	if err != nil {
		d.t.Fatalf("%s: %v", edge, err)
	}
	return e
}

// start imports a job file.
func (d *device) start(file string) {
	d.t.Helper()
	edges, err := jobs.Import([]byte(file))
	if err != nil {
		d.t.Fatal(err)
	}
	for _, e := range edges {
		d.record(string(e))
	}
}

// takes what another device recorded.
func (d *device) takes(from ...*device) {
	for _, f := range from {
		for _, e := range f.own {
			d.job.Add(e)
			d.clk = max(d.clk, e.Clk)
		}
	}
}

func (d *device) layer(code string, n int) *jobs.Layer {
	d.t.Helper()
	s := d.job.Surface(code)
	if s == nil || s.Layer(n) == nil {
		d.t.Fatalf("no layer %d on %s", n, code)
	}
	return s.Layer(n)
}

func (d *device) check(code string, layer int, check string) *jobs.Check {
	d.t.Helper()
	c := d.job.Surface(code).Check(check, layer)
	if c == nil {
		d.t.Fatalf("%s asks no %s of layer %d", code, check, layer)
	}
	return c
}

func export(t *testing.T, j *jobs.Job) string {
	t.Helper()
	out, err := j.Export()
	if err != nil {
		t.Fatal(err)
	}
	if !json.Valid(out) {
		t.Fatalf("export is no JSON: %s", out)
	}
	return string(out)
}

// house is the ceiling and floor of the demo scenario on one set of joists.
const house = `{"name":"7b Lantern Row","targets":[{"quantity":"dntw_ctr","value_db":43,"source":"change of use"}],
 "rooms":[{"code":"R1","name":"living","volume_m3":39.6}],
 "structures":[{"code":"J1","name":"joists","load_limit_kn_m2":0.70,"existing":[
   {"kind":"plaster","thickness_mm":15,"mass_kg_m2":12},
   {"kind":"cavity","depth_mm":175,"frame":{"kind":"joist","spacing_mm":400}},
   {"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":12}]}],
 "surfaces":[
  {"code":"C1","kind":"ceiling","room":"R1","structure":"J1","side":1,"width_m":4.2,"height_m":3.6,"thickness_limit_mm":90,"flanking":"unknown","specified":[
   {"kind":"fill_existing","existing":2,"fill":{"thickness_mm":100,"density_kg_m3":45}},
   {"kind":"cavity","depth_mm":25,"frame":{"kind":"none","mass_kg_m2":2,"resilient":"clip","spacing_mm":400}},
   {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},
   {"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5},
   {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},
  {"code":"F1","kind":"floor","structure":"J1","side":2,"width_m":4.2,"height_m":3.6,"specified":[
   {"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20},
   {"kind":"timber_panel","thickness_mm":18,"mass_kg_m2":12.3}]}]}`
