package jobs_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
)

// Roles by kind and place; common practice, no source.
func TestLayerRoles(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.start2(`{"do":"surface","code":"W1","kind":"wall","width_m":4.2,"height_m":2.6}`,
		`{"do":"specify","surface":"W1","specified":[{"kind":"cavity","depth_mm":15},
		  {"kind":"cavity","depth_mm":50,"frame":{"kind":"independent","mass_kg_m2":2},"fill":{"thickness_mm":50,"density_kg_m3":45}},
		  {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}`,
		`{"do":"layer_detail","surface":"W1","layer":5,"edge":{"gap_mm":5,"seal":"acoustic_sealant"},"required":[{"for":"fire","what":"DF board","by":"the fire strategy"}]}`)
	for _, c := range []struct {
		surface string
		layer   int
		want    string
	}{
		{"C1", 1, "absorb"}, {"C1", 2, "decouple support"}, {"C1", 3, "mass"}, {"C1", 4, "mass damp"}, {"C1", 5, "mass"},
		{"F1", 1, "mass decouple"}, {"F1", 2, "mass support"},
		{"W1", 1, "decouple"}, {"W1", 2, "decouple absorb support"}, {"W1", 5, "mass seal fire"},
	} {
		s := d.job.Surface(c.surface)
		if got := strings.Join(s.Roles(d.job, s.Layer(c.layer)), " "); got != c.want {
			t.Errorf("%s layer %d: %s, want %s", c.surface, c.layer, got, c.want)
		}
	}
}

func (d *device) start2(edges ...string) {
	d.t.Helper()
	for _, e := range edges {
		d.record(e)
	}
}

// What a specification leaves out is said, and no longer once it is there.
func TestSpecificationWarnings(t *testing.T) {
	board := `{"kind":"board","thickness_mm":12.5,"mass_kg_m2":10.5}`
	clip := `{"kind":"cavity","depth_mm":25,"frame":{"kind":"none","resilient":"clip"}}`
	seal := `{"do":"layer_detail","surface":"W1","layer":1,"edge":{"gap_mm":5,"seal":"acoustic_sealant"}`
	for _, c := range []struct {
		name, layers string
		edges        []string
		want, absent []string
	}{
		{"boards on the wall", board, nil, []string{"no layer decouples", "how its edge is sealed"}, nil},
		{"boards on clips", clip + "," + board, nil, []string{"how its edge is sealed"}, []string{"no layer decouples"}},
		{"sealed", board, []string{seal + `}`}, []string{"no layer decouples"}, []string{"how its edge is sealed"}},
		{"left open on purpose", board, []string{`{"do":"layer_detail","surface":"W1","layer":1,"edge":{"seal":"none"}}`}, []string{"how its edge is sealed"}, nil},
		{"nothing specified", "", nil, []string{"nothing is specified"}, []string{"decouples", "sealed"}},
		{"fire asked for", board, []string{seal + `,"required":[{"for":"fire","what":"60 minutes","by":"building control"}]}`}, []string{"layer 1 needs 60 minutes for fire (asked for by building control)"}, nil},
		{"fire given, moisture not", board, []string{seal + `,"required":[{"for":"fire","what":"DF"},{"for":"moisture","what":"H1"}],"given":[{"for":"fire","what":"DF","by":"edge print"}]}`}, []string{"layer 1 needs H1 for moisture"}, []string{"for fire"}},
		{"an equal that is none", board, []string{seal + `,"equals":[{"layer":{"kind":"board","thickness_mm":12.5,"mass_kg_m2":8.4}},{"layer":{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10.5}}]}`},
			[]string{"lighter by 2.1 kg/m² (20 %)", "membrane 5.3 mm does something else"}, nil}, // (10.5 - 8.4) / 10.5 = 20 %, arithmetic
		{"a mass that is assumed", board, []string{seal + `,"mass_source":"assumed"}`}, nil, []string{"assumed"}},
	} {
		d := newDevice(t, 1, jobs.Owner)
		d.start(`{"name":"x","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[` + c.layers + `]}]}`)
		d.start2(c.edges...)
		for _, w := range c.want {
			if !surfaceWarning(d, "W1", w) {
				t.Errorf("%s: no warning says %q: %q", c.name, w, d.job.Surface("W1").Warnings)
			}
		}
		for _, w := range c.absent {
			if surfaceWarning(d, "W1", w) {
				t.Errorf("%s: a warning says %q: %q", c.name, w, d.job.Surface("W1").Warnings)
			}
		}
	}
}

// Details come with the job file, and must belong to a layer of it.
func TestImportDetails(t *testing.T) {
	file := func(layer string) string {
		return `{"name":"x","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":12.5,"mass_kg_m2":10.5}],
		  "details":[{"layer":` + layer + `,"edge":{"seal":"tape"},"mass_source":"weighed"}]}]}`
	}
	d := newDevice(t, 1, jobs.Owner)
	d.start(file("1"))
	if got := d.job.Surface("W1").Detail(d.job, 1); got == nil || got.Edge.Seal != "tape" || got.MassSource != jobs.MassWeighed {
		t.Fatalf("detail %+v", got)
	}
	var input *jobs.InputError
	if _, err := jobs.Import([]byte(file("2"))); !errors.As(err, &input) || input.Field != "surfaces[0].details[0].layer" {
		t.Errorf("a detail of a layer that is not there: %v", err)
	}
}

// A permitted equal is agreed as it is specified: who asks for it needs no answer. Anything else needs one.
func TestPermittedEqual(t *testing.T) {
	equal := `{"kind":"board","thickness_mm":15,"mass_kg_m2":12.9}`
	for _, c := range []struct {
		name, asked string
		mass        float64
	}{
		{"the permitted one", equal, 12.9},
		{"another one", `{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8}`, 12.6},
	} {
		office, site := newDevice(t, 1, jobs.Office), newDevice(t, 2, jobs.Site)
		office.start(house)
		office.record(`{"do":"layer_detail","surface":"C1","layer":3,"equals":[{"layer":` + equal + `,"name":"same board, second maker"}]}`)
		site.takes(office)
		site.record(`{"do":"substitute","surface":"C1","layer":3,"state":"asked","layer_new":` + c.asked + `,"reason":"pallet short"}`)
		if got := site.layer("C1", 3).Now.MassKgM2(); !near(got, c.mass) {
			t.Errorf("%s: %v kg/m² now, want %v", c.name, got, c.mass)
		}
		office.takes(site)
		office.record(`{"do":"substitute","surface":"C1","layer":3,"state":"refused","reason":"keep to one maker"}`)
		if got := office.layer("C1", 3).Now.MassKgM2(); !near(got, 12.6) {
			t.Errorf("%s, refused afterwards: %v kg/m², want 12.6", c.name, got)
		}
	}
	// What is permitted later does not make an older question agreed, and the site permits nothing to itself.
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"substitute","surface":"C1","layer":3,"state":"asked","layer_new":` + equal + `,"reason":"pallet short"}`)
	d.record(`{"do":"layer_detail","surface":"C1","layer":3,"equals":[{"layer":` + equal + `}]}`)
	if got := d.layer("C1", 3).Now.MassKgM2(); !near(got, 12.6) {
		t.Errorf("agreed by what was permitted later: %v", got)
	}
	site := newDevice(t, 3, jobs.Site)
	site.takes(d)
	if _, err := site.try(`{"do":"layer_detail","surface":"C1","layer":3,"equals":[{"layer":` + equal + `}]}`); !errors.Is(err, jobs.ErrRefused) {
		t.Errorf("the site permits itself an equal: %v", err)
	}
}

// Details stay with a layer that stays the same, and go with one that changes.
func TestDetailsAfterRespecify(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"layer_detail","surface":"F1","layer":1,"edge":{"seal":"strip"}}`)
	d.record(`{"do":"layer_detail","surface":"F1","layer":2,"generic":"glued deck"}`)
	d.record(`{"do":"respecify","surface":"F1","reason":"heavier deck","specified":[{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":15}]}`)
	f1 := d.job.Surface("F1")
	if f1.Detail(d.job, 1) == nil || f1.Detail(d.job, 2) != nil {
		t.Errorf("details %v, %v: want the mat's kept and the deck's gone", f1.Detail(d.job, 1), f1.Detail(d.job, 2))
	}
}

func flats(n int) string {
	var b strings.Builder
	b.WriteString(`{"name":"forty flats","rooms":[{"code":"R1","volume_m3":40}],"surfaces":[{"code":"C1","kind":"ceiling","room":"R1","width_m":4,"height_m":3,
	 "existing":[{"kind":"cavity","depth_mm":200,"frame":{"kind":"joist"}},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":14}],
	 "specified":[{"kind":"cavity","depth_mm":25,"frame":{"kind":"none","resilient":"clip","mass_kg_m2":2}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}],
	 "details":[{"layer":2,"edge":{"gap_mm":5,"seal":"acoustic_sealant"}}]}`)
	for i := 2; i <= n; i++ {
		b.WriteString(`,{"code":"C` + num(i) + `","kind":"ceiling","width_m":4,"height_m":3,"existing":[{"kind":"cavity","depth_mm":200,"frame":{"kind":"joist"}},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":14}]}`)
	}
	return b.String() + `]}`
}

func num(i int) string {
	return strings.TrimLeft(string([]byte{byte('0' + i/10), byte('0' + i%10)}), "0")
}

// Forty equal flats are specified once; where one differs, it is marked.
func TestCopiedSpecification(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(flats(40))
	var to []string
	for i := 2; i <= 40; i++ {
		to = append(to, "C"+num(i))
	}
	edges, err := d.job.CopySpecification("C1", to, "")
	if err != nil || len(edges) != 39 {
		t.Fatalf("%d records, %v; want one for each of 39", len(edges), err)
	}
	for _, e := range edges {
		d.record(string(e))
	}
	for _, c := range to {
		s := d.job.Surface(c)
		like := d.job.Likeness(s)
		if like == nil || like.Surface != "C1" || len(like.Differences) != 0 || s.Detail(d.job, 2) == nil {
			t.Fatalf("%s: %+v, detail %v", c, like, s.Detail(d.job, 2))
		}
	}
	d.record(`{"do":"respecify","surface":"C7","like":"C1","reason":"low head","specified":[{"kind":"cavity","depth_mm":16,"frame":{"kind":"none","resilient":"bar"}},{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8}]}`)
	if got := d.job.Likeness(d.job.Surface("C7")).Differences; len(got) != 2 || !strings.Contains(got[0], "resilient bar 16 mm here, clip and channel 25 mm on C1") || !strings.Contains(got[1], "9.8 kg/m² here, 12.6 kg/m² on C1") {
		t.Errorf("differences %q", got)
	}
	// A list that changes where it came from is marked where it was copied to.
	d.record(`{"do":"respecify","surface":"C1","reason":"two boards","specified":[{"kind":"cavity","depth_mm":25,"frame":{"kind":"none","resilient":"clip","mass_kg_m2":2}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}`)
	if got := d.job.Likeness(d.job.Surface("C2")).Differences; len(got) != 1 || !strings.Contains(got[0], "layer 3: not here") {
		t.Errorf("differences %q", got)
	}
	// Forty like surfaces: the first and one set for each ten, so four and, for the one that differs, what the note says.
	if gs := d.job.LikeGroups(); len(gs) != 1 || len(gs[0].Like) != 39 || gs[0].TestSets != 4 || len(gs[0].Differ) != 39 {
		t.Errorf("groups %+v", gs)
	}
	if _, err := d.job.CopySpecification("C1", []string{"C2"}, ""); err == nil {
		t.Error("respecified without a reason")
	}
	if _, err := d.job.CopySpecification("C1", []string{"C1"}, "x"); err == nil {
		t.Error("copied to itself")
	}
}

// A job file may name a surface to copy from, or a starting build-up.
func TestImportLike(t *testing.T) {
	file := func(first, second string) string {
		return `{"name":"x","surfaces":[{"code":"F1","kind":"floor","width_m":4,"height_m":3` + first + `},{"code":"F2","kind":"floor","width_m":4,"height_m":3` + second + `}]}`
	}
	d := newDevice(t, 1, jobs.Owner)
	d.start(file(`,"build_up":"F-A"`, `,"like":"F1"`))
	f2 := d.job.Surface("F2")
	if f2.SpecifiedMass() != 28.3 || f2.BuildUp() != "F-A" || f2.Detail(d.job, 1) == nil || f2.Detail(d.job, 1).Edge.Seal != "strip" {
		t.Errorf("%v kg/m², from %q, detail %+v", f2.SpecifiedMass(), f2.BuildUp(), f2.Detail(d.job, 1))
	}
	for name, bad := range map[string]string{
		"like one further down": file(`,"like":"F2"`, `,"build_up":"F-A"`), "like itself": file(`,"like":"F1"`, ``), "unknown build-up": file(`,"build_up":"Q-Q"`, ``),
		"details of nothing": file(`,"build_up":"F-A","details":[{"layer":1}]`, ``),
	} {
		if _, err := jobs.Import([]byte(bad)); err == nil {
			t.Errorf("%s: taken in", name)
		}
	}
}

// One record is enough to copy the layers alone.
func TestSpecifyLike(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(flats(3))
	d.record(`{"do":"specify","surface":"C2","like":"C1"}`)
	if got := d.job.Surface("C2"); len(got.Specified) != 2 || got.SpecifiedMass() != 14.6 {
		t.Errorf("copied %d layers, %v kg/m²", len(got.Specified), got.SpecifiedMass())
	}
	for name, edge := range map[string]string{
		"like nothing":             `{"do":"specify","surface":"C3","like":"C9"}`,
		"like one without a list":  `{"do":"specify","surface":"C3","like":"C3"}`,
		"work on what is not here": `{"do":"specify","surface":"C3","specified":[{"kind":"remove_existing","existing":7}]}`,
	} {
		if _, err := d.try(edge); err == nil {
			t.Errorf("%s: recorded", name)
		}
	}
}

// A list that is left out empties nothing; an empty one does.
func TestRespecifyNamesItsList(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(flats(3))
	if _, err := d.try(`{"do":"respecify","surface":"C1","reason":"x"}`); err == nil || !strings.Contains(err.Error(), "specified is missing") {
		t.Errorf("without a list: %v", err)
	}
	if got := len(d.job.Surface("C1").Specified); got != 2 {
		t.Errorf("%d layers are left, want the 2 that were there", got)
	}
	d.record(`{"do":"respecify","surface":"C1","specified":[],"reason":"nothing goes on here"}`)
	if got := len(d.job.Surface("C1").Specified); got != 0 {
		t.Errorf("%d layers are left, want none", got)
	}
}

// The prediction of a quote is what was predicted then, whatever is specified later; nobody types it in.
func TestFrozenWithTheQuote(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"survey","structure":"J1","finding":"joists 175 x 50","known":"drawn"}`)
	then := d.job.PredictSurface(d.job.Surface("C1")).Specified
	e := d.record(`{"do":"quote","price":8450.5,"currency":"GBP","valid_until":"2026-12-24"}`)
	q := d.job.ByID(e.ID).What.(*jobs.Quote)
	if len(q.Frozen) != 2 || len(q.Assumes) != 1 || !strings.Contains(q.Assumes[0], "joists 175 x 50 (drawn)") {
		t.Fatalf("frozen %d surfaces, assumes %q", len(q.Frozen), q.Assumes)
	}
	// In the body the frozen values are decimal text, as every measured number is.
	var body struct {
		Frozen []map[string]any `json:"frozen"`
	}
	if err := json.Unmarshal(e.Data, &body); err != nil {
		t.Fatal(err)
	}
	if v, ok := body.Frozen[0]["rw_db"].(string); !ok || v != num(*then.RwDB) {
		t.Errorf("rw_db in the body: %#v, want %q", body.Frozen[0]["rw_db"], num(*then.RwDB))
	}
	d.record(`{"do":"respecify","surface":"C1","reason":"one board left out","specified":[{"kind":"cavity","depth_mm":25,"frame":{"kind":"none","resilient":"clip","mass_kg_m2":2}},{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8}]}`)
	f := d.job.FrozenFor(d.job.Surface("C1"))
	if f == nil || *f.RwDB != float64(*then.RwDB) || *f.MassKgM2 != 36.7 || !f.Respecified {
		t.Fatalf("frozen %+v, want Rw %d and 36.7 kg/m² of the list before", f, *then.RwDB)
	}
	now := d.job.PredictSurface(d.job.Surface("C1")).Specified
	if float64(*now.RwDB) == *f.RwDB {
		t.Error("the lighter ceiling predicts the same: the test shows nothing")
	}
	if got := d.job.FrozenFor(d.job.Surface("F1")); got == nil || got.Respecified {
		t.Errorf("F1 was not respecified: %+v", got)
	}
	// A variation stands beside the quote; a new quote takes its place. Both stay readable.
	d.record(`{"do":"quote","surface":"C1","price":-200,"currency":"GBP","variation":"one board less","pays":"firm"}`)
	d.record(`{"do":"quote","price":8000,"currency":"GBP"}`)
	qs := d.job.Quotes()
	if len(qs) != 3 || qs[0].InForce || !qs[1].InForce || !qs[2].InForce || len(qs[0].Frozen) != 2 {
		t.Fatalf("quotes %+v", qs)
	}
	if got := d.job.Variations(); len(got) != 1 || got[0] != (jobs.PaidBy{Pays: "firm", Amount: -200, Currency: "GBP"}) {
		t.Errorf("variations %v", got)
	}
	if got := d.job.FrozenFor(d.job.Surface("C1")); got.Quote != qs[1].ID {
		t.Errorf("the quote of the surface itself goes before one of the job")
	}
	for name, edge := range map[string]string{
		"typed in":            `{"do":"quote","frozen":[{"surface":"C1","rw_db":70}]}`,
		"assumptions typed":   `{"do":"quote","assumes":[]}`,
		"not a date":          `{"do":"quote","valid_until":"soon"}`,
		"nobody pays":         `{"do":"quote","variation":"x"}`,
		"pays for no change":  `{"do":"quote","pays":"client"}`,
		"surface not here":    `{"do":"quote","surface":"Z1"}`,
		"price is not finite": `{"do":"quote","price":1e999}`,
	} {
		if _, err := d.try(edge); err == nil {
			t.Errorf("%s: recorded", name)
		}
	}
	site := newDevice(t, 4, jobs.Site)
	site.takes(d)
	if _, err := site.try(`{"do":"quote","price":1}`); !errors.Is(err, jobs.ErrRefused) {
		t.Errorf("the site gives a quote: %v", err)
	}
	// The fold never works a frozen value out again: it is in the bytes.
	again := jobs.Fold(jobID, company, d.own)
	if a, b := export(t, again), export(t, d.job); a != b {
		t.Error("folded anew, the job differs")
	}
	if !slices.EqualFunc(again.Quotes(), qs, func(a, b jobs.QuoteView) bool { return a.ID == b.ID && a.InForce == b.InForce }) {
		t.Error("folded anew, the quotes differ")
	}
}

// A variation that names no surface freezes what was quoted before, and offers nothing that was not.
func TestVariationOffersNothingNew(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	if len(d.job.Surfaces) < 2 {
		t.Fatal("the house has too few surfaces")
	}
	d.record(`{"do":"quote","surface":"C1","price":900,"currency":"GBP"}`)
	e := d.record(`{"do":"quote","price":150,"currency":"GBP","variation":"pendant moved","pays":"client"}`)
	frozen := d.job.ByID(e.ID).What.(*jobs.Quote).Frozen
	if len(frozen) != 1 || frozen[0].Surface != "C1" {
		t.Errorf("the variation freezes %+v", frozen)
	}
}
