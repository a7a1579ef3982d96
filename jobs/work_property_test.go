package jobs_test

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tacet/jobs"
)

// deeds are what people record, with places left open for a surface and a layer ($s, $l), a share ($h), and an earlier entry
// ($e).
var deeds = []string{
	`{"do":"install","surface":"$s","layer":$l,"share":$h}`,
	`{"do":"install","surface":"$s","layer":$l,"share":$h,"mass_kg_m2":9.8,"by":"Pavo"}`,
	`{"do":"ready","surface":"$s","layer":$l,"cover_at":"2026-03-02T14:30:00Z"}`,
	`{"do":"ready","surface":"$s","layer":$l}`,
	`{"do":"cover","surface":"$s","layer":$l}`,
	`{"do":"check","surface":"$s","layer":$l,"check":"K23","result":"fail","measured":{"gap_mm":3}}`,
	`{"do":"check","surface":"$s","layer":$l,"check":"K23","result":"pass","evidence":3,"measured":{"gap_mm":0},"photos":["` + photo + `"]}`,
	`{"do":"check","surface":"$s","layer":$l,"check":"K19","result":"could_not_see"}`,
	`{"do":"audit","surface":"$s","layer":$l,"answer":"cover"}`,
	`{"do":"audit","surface":"$s","layer":$l,"answer":"put_right","note":"open"}`,
	`{"do":"audit","surface":"$s","layer":$l,"answer":"coming"}`,
	`{"do":"release","surface":"$s","layer":$l,"checks":["K23","K19"]}`,
	`{"do":"put_right","over":"$e","cause":"haste","hours":1.5,"cost":10}`,
	`{"do":"withdraw","over":"$e","reason":"wrong"}`,
	`{"do":"ruling","on":["$e"],"keeps":"none","reason":"neither"}`,
	`{"do":"sign_off","surface":"$s","layer":$l}`,
	`{"do":"sign_off","surface":"$s"}`,
	`{"do":"sign_off"}`,
	`{"do":"firm_rule","cover_after_h":1,"sample_one_in":2}`,
	`{"do":"sound_test","quantity":"dntw_ctr","value_db":42,"source_room":"a","receiving_room":"b","surfaces":["$s"],"body":"x"}`,
	`{"do":"complaint","surface":"$s","words":"thud","kind":"footsteps","received":"2026-06-01"}`,
	`{"do":"complaint","words":"again","kind":"footsteps","received":"2026-07-01","again":"$e"}`,
	`{"do":"outcome","over":"$e","outcome":"ours_put_right","cause":"unknown","confidence":"guessed"}`,
	`{"do":"outcome","over":"$e","outcome":"not_our_element","cause":"services","confidence":"tested"}`,
	`{"do":"follow_up","month":3,"answers":"no_reply"}`,
	`{"do":"follow_up","month":3,"answers":{"bass":4}}`,
	`{"do":"substitute","surface":"$s","layer":$l,"state":"already_fixed","layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":8},"reason":"ran out"}`,
}

// Whatever four people record side by side, in whatever order it arrives: everybody derives the same from it, nobody has
// accepted their own work, masses are sums, and every record stays readable.
func TestWorkIsAFunctionOfTheEntries(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		devices := []*device{newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Site), newDevice(t, 3, jobs.Supervisor), newDevice(t, 4, jobs.Owner)}
		devices[2].start(house)
		for _, d := range devices {
			d.takes(devices[2])
		}
		for range rapid.IntRange(1, 40).Draw(rt, "deeds") {
			d := devices[rapid.IntRange(0, 3).Draw(rt, "device")]
			edge := rapid.SampledFrom(deeds).Draw(rt, "deed")
			entry := d.job.Records[rapid.IntRange(0, len(d.job.Records)-1).Draw(rt, "entry")].ID
			edge = strings.NewReplacer("$s", rapid.SampledFrom([]string{"C1", "F1"}).Draw(rt, "surface"), "$l", fmt.Sprint(rapid.IntRange(1, 5).Draw(rt, "layer")),
				"$h", rapid.SampledFrom([]string{"0.25", "0.5", "1"}).Draw(rt, "share"), "$e", entry).Replace(edge)
			_, _ = d.try(edge) // what a rule refuses is refused; the rest is the story
			if rapid.IntRange(0, 3).Draw(rt, "sync") == 0 {
				d.takes(devices...)
			}
		}
		var all []jobs.Entry
		for _, d := range devices {
			all = append(all, d.own...)
		}
		whole := jobs.Fold(jobID, company, all)
		want := workOf(rt, whole)
		j := jobs.NewJob(jobID, company)
		places := make([]int, len(all))
		for i := range places {
			places[i] = i
		}
		for _, i := range rapid.Permutation(places).Draw(rt, "order") {
			j.Add(all[i])
		}
		if got := workOf(rt, j); got != want {
			rt.Fatalf("one by one:\n%s\nat once:\n%s", got, want)
		}
		holds(rt, whole)
	})
}

// workOf is all that follows from the entries but the predictions, which take their time.
func workOf(rt *rapid.T, j *jobs.Job) string {
	v := j.WorkView()
	for i := range v.Tests {
		v.Tests[i].PredictedDB, v.Tests[i].UDB = nil, nil
	}
	out, err := json.Marshal(v)
	if err != nil {
		rt.Fatal(err)
	}
	due := ""
	for _, d := range j.Due(time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)) {
		due += fmt.Sprintf(" %d %s %s %d", d.Month, d.At, d.State, d.DaysLate)
	}
	settled, err := j.Export()
	if err != nil {
		rt.Fatal(err)
	}
	return string(out) + due + string(settled)
}

// holds checks what must be so after any story.
func holds(rt *rapid.T, j *jobs.Job) {
	people := map[string]bool{}
	for _, r := range j.Records {
		people[r.By] = true
		if _, err := r.EdgeJSON(); err != nil {
			rt.Fatalf("entry %s can't be read: %v", r.ID, err)
		}
	}
	for _, n := range j.NonConformances() {
		if n.Accepted == nil {
			continue
		}
		if !n.Accepted.Role.Judges() || n.PutRight != nil && n.PutRight.By == n.Accepted.By && len(people) > 1 {
			rt.Fatalf("%s was accepted by %s (%s), put right by %v", n.Title, n.Accepted.By, n.Accepted.Role, n.PutRight)
		}
		if n.State != jobs.NCAccepted || n.Open() {
			rt.Fatalf("accepted and open: %+v", n)
		}
	}
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			if l.State == jobs.DisputedLayer {
				continue
			}
			mass, share := 0.0, 0.0
			var seen []string
			for _, r := range l.Installs {
				d := r.What.(*jobs.Install)
				m := l.Now.MassKgM2()
				if d.MassKgM2 != nil {
					m = *d.MassKgM2
				}
				mass, share = mass+m**d.Share, share+*d.Share
				seen = append(seen, r.ID)
			}
			if share <= 1+1e-9 && math.Abs(mass-l.InstalledMass*l.Share) > 1e-6 {
				rt.Fatalf("layer %d of %s: %v kg/m² of %v, records %v make %v", l.N, s.Code, l.InstalledMass, l.Share, seen, mass)
			}
			if l.State == jobs.Accepted && l.Share == 0 && len(l.Installs) > 0 {
				rt.Fatalf("layer %d of %s is accepted and nothing is in place", l.N, s.Code)
			}
		}
	}
	for _, i := range j.Queue() {
		if !i.CoverFrom.IsZero() && slices.ContainsFunc(i.Surface.ChecksOf(i.Layer.N), func(c *jobs.Check) bool { return c.Rule.Stop }) {
			rt.Fatalf("%s layer %d may be covered without an answer on a stop item", i.Surface.Code, i.Layer.N)
		}
	}
}
