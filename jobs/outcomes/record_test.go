package outcomes_test

import (
	"fmt"
	"testing"
	"time"

	"tacet/jobs"
)

// site records into one job, as a person at a desk does.
type site struct {
	t    *testing.T
	job  *jobs.Job
	now  time.Time
	seq  int64
	prev jobs.Hash
	clk  jobs.Clock
}

const (
	company = "0197a000-0000-7000-8000-00000000c000"
	device  = "0197a000-0000-7000-8000-0000000d0001"
	person  = "0197a000-0000-7000-8000-0000000a0001"
)

// newSite opens a job from a file.
func newSite(t *testing.T, id int, file string) *site {
	t.Helper()
	s := &site{t: t, job: jobs.NewJob(fmt.Sprintf("0197a000-0000-7000-8000-%012d", id), company), now: time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)}
	edges, err := jobs.Import([]byte(file))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range edges {
		s.record(string(e))
	}
	return s
}

func (s *site) record(edge string) string {
	s.t.Helper()
	id, err := s.try(edge, jobs.Owner)
	if err != nil {
		s.t.Fatalf("%s: %v", edge, err)
	}
	return id
}

func (s *site) try(edge string, role jobs.Role) (string, error) {
	s.t.Helper()
	draft, err := jobs.Compose(s.job, jobs.Author{Person: person, Role: role}, []byte(edge))
	if err != nil {
		return "", err
	}
	s.seq++
	s.now = s.now.Add(time.Minute)
	s.clk = s.clk.Next(s.now)
	e, err := jobs.NewEntry(jobs.Envelope{ID: fmt.Sprintf("0197a000-%04d-7000-8000-%s", s.seq, s.job.ID[24:]), Co: company, Job: s.job.ID, Dev: device, Seq: s.seq,
		Prev: s.prev, Run: s.seq, Clk: s.clk, By: person, Role: role, Kind: draft.Kind, KV: draft.KV, On: draft.On, Refs: draft.Refs, Blobs: draft.Blobs}, draft.Body)
	if err != nil {
		s.t.Fatalf("%s: %v", edge, err)
	}
	e.Key = draft.Key
	s.prev = e.Hash
	s.job.Add(e)
	return e.ID, nil
}

// house is a ceiling and a floor on one set of joists, and a wall.
const house = `{"name":"7b Lantern Row","targets":[{"quantity":"dntw_ctr","value_db":43},{"quantity":"lntw","value_db":64}],
 "rooms":[{"code":"R1","name":"living","volume_m3":39.6}],
 "structures":[{"code":"J1","existing":[
   {"kind":"plaster","thickness_mm":15,"mass_kg_m2":12},
   {"kind":"cavity","depth_mm":175,"frame":{"kind":"joist","spacing_mm":400}},
   {"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":12}]}],
 "surfaces":[
  {"code":"C1","kind":"ceiling","room":"R1","structure":"J1","side":1,"width_m":4.2,"height_m":3.6,"flanking":[],"specified":[
   {"kind":"fill_existing","existing":2,"fill":{"thickness_mm":100,"density_kg_m3":45}},
   {"kind":"cavity","depth_mm":25,"frame":{"kind":"none","mass_kg_m2":2,"resilient":"clip","spacing_mm":400}},
   {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},
   {"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5},
   {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},
  {"code":"F1","kind":"floor","structure":"J1","side":2,"width_m":4.2,"height_m":3.6,"specified":[
   {"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20},
   {"kind":"timber_panel","thickness_mm":18,"mass_kg_m2":12.3}]},
  {"code":"W1","kind":"wall","room":"R1","width_m":4,"height_m":2.6,"existing":[{"kind":"masonry","thickness_mm":215,"mass_kg_m2":375}],"specified":[
   {"kind":"cavity","depth_mm":65,"fill":{"thickness_mm":50,"density_kg_m3":45},"frame":{"kind":"independent"}},
   {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},
   {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`

// build puts every layer up on a day.
// passStops answers every stop check that holds anything.
func (s *site) passStops() {
	s.t.Helper()
	for _, surface := range s.job.Surfaces {
		for _, c := range surface.Checks {
			if c.Rule.Stop && c.State == jobs.CheckOpen {
				s.record(fmt.Sprintf(`{"do":"check","surface":%q,"layer":%d,"check":%q,"result":"pass","evidence":1}`, surface.Code, c.Layer, c.Rule.Code))
			}
		}
	}
}

func (s *site) build(day string) {
	s.t.Helper()
	for _, surface := range s.job.Surfaces {
		for _, l := range surface.Layers {
			s.record(fmt.Sprintf(`{"do":"install","surface":%q,"layer":%d,"share":1,"at":"%sT10:00:00Z","by":"Pavo"}`, surface.Code, l.N, day))
		}
	}
}
