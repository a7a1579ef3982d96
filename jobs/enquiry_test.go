package jobs_test

import (
	"strings"
	"testing"

	"tacet/jobs"
)

func jobWarning(d *device, want string) bool {
	return strings.Contains(strings.Join(d.job.Warnings, "\n"), want)
}

func surfaceWarning(d *device, code, want string) bool {
	return strings.Contains(strings.Join(d.job.Surface(code).Warnings, "\n"), want)
}

const ask = `{"do":"enquiry","asks":"occupier","words":"I hear every step and the telly","heard":["footsteps","voices"],"rooms":["living"],
 "since":"last spring","owner":"the freeholder","lease_consent":"unknown","listed":"no","deadline":"before Christmas","test_required_by":"building control","built_year":1890}`

// The baseline grows louder as the work comes nearer, and is never asked for in vain once it is there.
func TestBaselineWarning(t *testing.T) {
	deliver := `{"do":"deliver","surface":"C1","layer":3,"material":"board","quantity":6,"unit":"sheet"}`
	install := `{"do":"install","surface":"C1","layer":1,"share":1}`
	rated := `{"do":"baseline","answers":{"voices":8,"footsteps":9}}`
	for _, c := range []struct {
		name   string
		edges  []string
		want   []string
		absent []string
	}{
		{"nothing asked yet", nil, nil, []string{"baseline", "BASELINE"}},
		{"asked for", []string{ask}, []string{"no baseline yet"}, []string{"BASELINE"}},
		{"material is here", []string{deliver}, []string{"NO BASELINE", "about to start", "never collectable later"}, nil},
		{"work began", []string{deliver, install}, []string{"NO BASELINE", "work began", "never collectable later"}, []string{"about to start"}},
		{"in time", []string{ask, rated, deliver, install}, nil, []string{"baseline", "BASELINE"}},
		{"too late", []string{install, rated}, []string{"taken after work began"}, []string{"NO BASELINE"}},
		{"typed in later, taken before", []string{install, `{"do":"baseline","at":"2026-03-01T10:00:00Z","from_paper":true,"answers":{"voices":8}}`}, nil, []string{"BASELINE", "after work began"}},
		{"no reply", []string{`{"do":"baseline","answers":"no_reply"}`, install}, []string{"no reply"}, []string{"NO BASELINE"}},
		{"one kind left out", []string{ask, `{"do":"baseline","answers":{"voices":8}}`}, []string{"leaves out footsteps"}, []string{"leaves out voices"}},
	} {
		d := newDevice(t, 1, jobs.Owner)
		d.start(house)
		for _, e := range c.edges {
			d.record(e)
		}
		for _, w := range c.want {
			if !jobWarning(d, w) {
				t.Errorf("%s: no warning says %q: %q", c.name, w, d.job.Warnings)
			}
		}
		for _, w := range c.absent {
			if jobWarning(d, w) {
				t.Errorf("%s: a warning says %q: %q", c.name, w, d.job.Warnings)
			}
		}
		if got := jobs.Fold(jobID, company, d.own).Warnings; strings.Join(got, "\n") != strings.Join(d.job.Warnings, "\n") {
			t.Errorf("%s: folded at once warns %q, one by one %q", c.name, got, d.job.Warnings)
		}
	}
}

// A withdrawn baseline is none.
func TestBaselineWithdrawn(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	b := d.record(`{"do":"baseline","answers":{"voices":8}}`)
	d.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	if jobWarning(d, "BASELINE") {
		t.Fatalf("warned though there is one: %q", d.job.Warnings)
	}
	d.record(`{"do":"withdraw","over":"` + b.ID + `","reason":"another client's"}`)
	if !jobWarning(d, "NO BASELINE") {
		t.Errorf("a withdrawn baseline still counts: %q", d.job.Warnings)
	}
}

func TestEnquiryWarnings(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(`{"name":"flat","targets":[{"quantity":"dntw_ctr","value_db":43}],"surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5}]}`)
	d.record(ask)
	for _, w := range []string{"has no source", "not consented"} {
		if !jobWarning(d, w) {
			t.Errorf("no warning says %q: %q", w, d.job.Warnings)
		}
	}
	if jobWarning(d, "listed") {
		t.Errorf("not listed, but warned: %q", d.job.Warnings)
	}
	if e := d.job.Enquiry(); e == nil || e.Words != "I hear every step and the telly" || e.BuiltYear != 1890 {
		t.Errorf("enquiry %+v", e)
	}
	if s := d.job.View().Survey; s.Enquiry == nil || s.BuiltYear == nil || *s.BuiltYear != 1890 || s.Baseline != nil {
		t.Errorf("survey %+v", s)
	}
	if v := d.job.View(); len(v.Warnings) != len(d.job.Warnings) {
		t.Errorf("the view leaves warnings out: %q", v.Warnings)
	}
}

// A room measured by hand: 4.2 x 3.6 x mean of 2.60, 2.62, 2.64 m = 39.6144 m³ (arithmetic). A volume given goes first.
func TestRoomMeasured(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(`{"name":"flat","rooms":[{"code":"R1","length_m":4.2,"width_m":3.6,"heights_m":[2.60,2.62,2.64],"signal":"window"},{"code":"R2","volume_m3":31,"length_m":4,"width_m":3,"heights_m":[2.5]}],
	  "surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5}]}`)
	if got := d.job.Room("R1"); !near(got.VolumeM3, 39.6144) || got.Facts.Signal != "window" {
		t.Errorf("R1 %v m³, signal %q", got.VolumeM3, got.Facts.Signal)
	}
	if got := d.job.Room("R2").VolumeM3; got != 31 {
		t.Errorf("R2 %v m³, want 31 as recorded", got)
	}
}

// What was not seen travels with the prediction; what was seen does not.
func TestAssumptionsTravel(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"survey","structure":"J1","category":"structure","finding":"joists 175 x 50 at 400","known":"drawn"}`)
	d.record(`{"do":"survey","surface":"C1","category":"noise","test":"ear","finding":"loudest at the bay","known":"seen"}`)
	d.record(`{"do":"survey","surface":"F1","finding":"boards 22 mm","known":"guessed"}`)
	if got := len(d.job.Assumptions()); got != 2 {
		t.Fatalf("%d assumptions, want 2", got)
	}
	c1 := notes(d.job.PredictSurface(d.job.Surface("C1")).Specified)
	if !strings.Contains(c1, "joists 175 x 50 at 400 (drawn)") || strings.Contains(c1, "loudest") || strings.Contains(c1, "boards 22 mm") {
		t.Errorf("notes of C1: %s", c1)
	}
	f1 := notes(d.job.PredictSurface(d.job.Surface("F1")).Specified)
	if !strings.Contains(f1, "joists 175 x 50") || !strings.Contains(f1, "boards 22 mm (guessed)") {
		t.Errorf("notes of F1: %s", f1)
	}
	if v := d.job.View(); len(v.Assumptions) != 2 {
		t.Errorf("the view lists %d assumptions", len(v.Assumptions))
	}
}

// Hazards and agreements stay open until they are settled.
func TestOpenFindings(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	h := d.record(`{"do":"survey","surface":"C1","category":"hazard","finding":"textured coating","known":"seen","who":"the asbestos surveyor"}`)
	d.record(`{"do":"survey","category":"limit","finding":"headroom 90 mm","known":"seen"}`)
	if !jobWarning(d, "hazard: textured coating (seen); the asbestos surveyor decides") || jobWarning(d, "headroom") {
		t.Fatalf("warnings %q", d.job.Warnings)
	}
	d.record(`{"do":"survey","surface":"C1","category":"hazard","finding":"textured coating, sampled clear","known":"seen","settled":true,"over":"` + h.ID + `"}`)
	if jobWarning(d, "textured") {
		t.Errorf("settled, but warned: %q", d.job.Warnings)
	}
}

// A way round the wall: found, told, declined and signed. The client's word travels to the prediction; a later decision
// stands by itself again.
func TestFlankingFromSurveyToPrediction(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(`{"name":"flat","rooms":[{"code":"R1","volume_m3":39.6}],"surfaces":[
	 {"code":"W1","kind":"wall","room":"R1","width_m":4.2,"height_m":2.6,"existing":[{"kind":"masonry","thickness_mm":215,"mass_kg_m2":400}]},
	 {"code":"W2","kind":"wall","room":"R1","width_m":0.9,"height_m":2.6}]}`)
	state := func(path string) jobs.FlankingState {
		for _, it := range d.job.FlankingList(d.job.Surface("W1")) {
			if it.Path == path {
				return it.State
			}
		}
		return "missing"
	}
	step := func(edge string, want jobs.FlankingState, warns bool) {
		t.Helper()
		d.record(edge)
		if got := state("return_wall"); got != want {
			t.Errorf("%s: %s, want %s", edge, got, want)
		}
		if got := surfaceWarning(d, "W1", "return wall"); got != warns {
			t.Errorf("%s: warned %v: %q", edge, got, d.job.Surface("W1").Warnings)
		}
	}
	if got := state("return_wall"); got != jobs.FlankNotLooked {
		t.Fatalf("before the survey: %s", got)
	}
	step(`{"do":"flanking","surface":"W1","path":"return_wall","decision":"not_seen"}`, jobs.FlankUnseen, true)
	step(`{"do":"flanking","surface":"W1","path":"return_wall","decision":"tell_client","heard":true}`, jobs.FlankToTell, true)
	step(`{"do":"sign","surface":"W1","name":"Odette Fenwarden","role":"client","statement":"declined","what":"lining the return wall W2","flanking":"return_wall","means":"typed"}`, jobs.FlankDeclined, false)
	if n := notes(d.job.PredictSurface(d.job.Surface("W1")).Specified); !strings.Contains(n, "return wall stays: treating it was declined by Odette Fenwarden") {
		t.Errorf("the prediction does not say so: %s", n)
	}
	step(`{"do":"flanking","surface":"W1","path":"return_wall","decision":"treat","treated_by":"W2"}`, jobs.FlankTreated, false)
	if got := state("steel"); got != jobs.FlankNotLooked {
		t.Errorf("steel: %s", got)
	}
}

// Two surveyors who decide differently without knowing of each other leave it open.
func TestFlankingDisputed(t *testing.T) {
	a, b := newDevice(t, 1, jobs.Supervisor), newDevice(t, 2, jobs.Office)
	a.start(house)
	b.takes(a)
	a.record(`{"do":"flanking","surface":"C1","path":"steel","decision":"treat"}`)
	b.record(`{"do":"flanking","surface":"C1","path":"steel","decision":"leave"}`)
	a.takes(b)
	if len(a.job.Disputes) != 1 || a.job.Disputes[0].On.Surface != "C1" {
		t.Errorf("disputes %+v", a.job.Disputes)
	}
	if !surfaceWarning(a, "C1", "steel running past: two people decided differently") {
		t.Errorf("%q", a.job.Surface("C1").Warnings)
	}
}

func TestSurveyRefuses(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	for name, edge := range map[string]string{
		"no words":                  `{"do":"enquiry","asks":"occupier","words":" "}`,
		"unknown asker":             `{"do":"enquiry","asks":"cat","words":"miaow"}`,
		"unknown noise":             `{"do":"enquiry","asks":"occupier","words":"x","heard":["hum"]}`,
		"half a year":               `{"do":"enquiry","asks":"occupier","words":"x","built_year":1890.5}`,
		"year out of range":         `{"do":"survey","finding":"x","known":"seen","built_year":189}`,
		"unknown structure":         `{"do":"survey","structure":"J9","finding":"x","known":"seen"}`,
		"unknown category":          `{"do":"survey","category":"gossip","finding":"x","known":"seen"}`,
		"unknown test":              `{"do":"survey","test":"app","finding":"x","known":"seen"}`,
		"unknown way":               `{"do":"flanking","surface":"C1","path":"moon","decision":"treat"}`,
		"unknown decision":          `{"do":"flanking","surface":"C1","path":"steel","decision":"maybe"}`,
		"other way, not named":      `{"do":"flanking","surface":"C1","path":"other","decision":"treat"}`,
		"treated by nothing":        `{"do":"flanking","surface":"C1","path":"steel","decision":"treat","treated_by":"Z9"}`,
		"left, but treated":         `{"do":"flanking","surface":"C1","path":"steel","decision":"leave","treated_by":"F1"}`,
		"flanking of no surface":    `{"do":"sign","name":"x","role":"client","statement":"declined","what":"x","flanking":"steel"}`,
		"finger without a picture":  `{"do":"sign","surface":"C1","name":"x","role":"client","statement":"declined","what":"x","means":"finger"}`,
		"room with a negative side": `{"do":"room","code":"R7","length_m":-1}`,
		"room with unknown signal":  `{"do":"room","code":"R7","signal":"5G"}`,
	} {
		if _, err := d.try(edge); err == nil {
			t.Errorf("%s: recorded", name)
		}
	}
}
