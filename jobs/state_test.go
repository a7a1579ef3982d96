package jobs_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"tacet/jobs"
)

// photo stands for a picture: Compose only asks for a hash.
var photo = jobs.HashBlob([]byte("a picture")).String()

func pass(layer, check string) string {
	return `{"do":"check","surface":"C1","layer":` + layer + `,"check":"` + check + `","result":"pass","evidence":3,"photos":["` + photo + `"]}`
}

func TestLayerStates(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	want := func(n int, state jobs.LayerState) {
		t.Helper()
		if got := d.layer("C1", n).State; got != state {
			t.Errorf("layer %d is %s, want %s", n, got, state)
		}
	}
	want(3, jobs.Specified)
	d.record(`{"do":"deliver","surface":"C1","layer":3,"material":"acoustic board","quantity":6,"unit":"sheet"}`)
	want(3, jobs.Delivered)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":0.4}`)
	want(3, jobs.PartInstalled)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":0.6}`)
	want(3, jobs.Installed)
	d.record(`{"do":"ready","surface":"C1","layer":3,"cover_at":"2026-03-02T14:30:00Z"}`)
	want(3, jobs.ReadyToBeSeen)
	if got := d.layer("C1", 3).CoverAt; got != "2026-03-02T14:30:00Z" {
		t.Errorf("to be covered at %q", got)
	}
	d.record(`{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"north edge open"}`)
	want(3, jobs.ToPutRight)
	audit := d.own[len(d.own)-1]
	d.record(`{"do":"put_right","over":"` + audit.ID + `","cause":"haste","hours":3}`)
	want(3, jobs.PutRightDone)
	d.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	want(3, jobs.Accepted)
	for _, c := range []string{"K19", "K23"} {
		d.record(pass("3", c))
	}
	d.record(`{"do":"install","surface":"C1","layer":4,"share":1}`)
	want(3, jobs.CoveredLayer)
	if d.layer("C1", 3).CoveredUnseen {
		t.Error("layer 3 counts as covered unseen though its stop checks had passed")
	}
	d.record(`{"do":"install","surface":"C1","layer":5,"share":1}`)
	want(4, jobs.CoveredLayer) // a membrane has no stop check of its own
	last := d.record(`{"do":"cover","surface":"C1","layer":5}`)
	want(5, jobs.CoveredUnseen) // K19 and K28 of the last board were open
	d.record(`{"do":"withdraw","over":"` + last.ID + `","reason":"wrong surface"}`)
	want(5, jobs.Installed)
	d.record(`{"do":"withdraw","over":"` + d.own[len(d.own)-3].ID + `","reason":"not up yet"}`)
	want(5, jobs.WithdrawnLayer)
	standing := func(want jobs.LayerState) {
		t.Helper()
		if got := d.job.Surface("C1").Layer(5).Standing(); got != want {
			t.Errorf("it stands as %s, want %s", got, want)
		}
	}
	standing(jobs.Specified)
	d.record(`{"do":"deliver","surface":"C1","layer":5,"material":"board","quantity":12,"unit":"sheet"}`)
	standing(jobs.Delivered)
}

// A check that passes after the layer was covered does not make it seen.
func TestCoveredUnseenStays(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	d.record(pass("3", "K19"))
	d.record(`{"do":"install","surface":"C1","layer":4,"share":1}`)
	if got := d.layer("C1", 3).State; got != jobs.CoveredUnseen {
		t.Fatalf("layer 3 is %s, want covered_unseen: K23 was open", got)
	}
	d.record(pass("3", "K23"))
	if got := d.layer("C1", 3).State; got != jobs.CoveredUnseen {
		t.Errorf("layer 3 is %s after a pass that came too late, want covered_unseen", got)
	}
	if c := d.check("C1", 3, "K23"); c.State != jobs.CheckPassed {
		t.Errorf("K23 is %s, want passed", c.State)
	}
}

// Half a layer covered unseen is covered unseen; half covered with its checks passed is still worked on.
func TestCoverOverAShare(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	d.record(pass("3", "K19"))
	d.record(pass("3", "K23"))
	d.record(`{"do":"install","surface":"C1","layer":4,"share":0.5}`)
	l := d.layer("C1", 3)
	if l.State != jobs.Installed || l.Covered != 0.5 {
		t.Errorf("layer 3 is %s with %v covered, want installed with 0.5", l.State, l.Covered)
	}
	d.record(`{"do":"install","surface":"C1","layer":4,"share":0.5}`)
	if got := d.layer("C1", 3).State; got != jobs.CoveredLayer {
		t.Errorf("layer 3 is %s, want covered", got)
	}
}

func TestRelease(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	if _, err := site.try(`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`); !errors.Is(err, jobs.ErrRefused) {
		t.Fatalf("site may release: %v", err)
	}
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	site.record(pass("3", "K19"))
	sup.takes(site)
	sup.record(`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	// Meanwhile, unknown to the supervisor, the site finds it open: the release did not see that.
	fail := site.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","measured":{"gap_mm":3,"length_m":1.2},"evidence":3}`)
	site.takes(sup)
	if c := site.check("C1", 3, "K23"); c.Released || c.State != jobs.CheckFailed {
		t.Fatalf("K23 released %v, %s; a release that did not see the fail must be stale", c.Released, c.State)
	}
	site.record(`{"do":"put_right","over":"` + fail.ID + `","cause":"haste","hours":0.5}`)
	sup.takes(site)
	if c := sup.check("C1", 3, "K23"); c.State != jobs.CheckPutRight {
		t.Fatalf("K23 is %s, want put_right", c.State)
	}
	sup.record(`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	site.takes(sup)
	if c := site.check("C1", 3, "K23"); !c.Released {
		t.Fatal("a release in view of the fail and its cure must count")
	}
	site.record(`{"do":"install","surface":"C1","layer":4,"share":1}`)
	if got := site.layer("C1", 3).State; got != jobs.CoveredLayer {
		t.Errorf("layer 3 is %s, want covered: its hold point was released", got)
	}
}

// Two people who find different things dispute the check; a ruling that names both settles it, on both devices alike.
func TestDisputeAndRuling(t *testing.T) {
	a, b, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Site), newDevice(t, 3, jobs.Supervisor)
	sup.start(house)
	a.takes(sup)
	b.takes(sup)
	yes := a.record(pass("3", "K23"))
	no := b.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","measured":{"gap_mm":2},"evidence":2}`)
	a.takes(b)
	b.takes(a)
	for _, d := range []*device{a, b} {
		if c := d.check("C1", 3, "K23"); c.State != jobs.CheckDisputed {
			t.Fatalf("K23 is %s, want disputed", c.State)
		}
		if len(d.job.Disputes) != 1 || len(d.job.Disputes[0].Heads) != 2 {
			t.Fatalf("disputes: %+v", d.job.Disputes)
		}
	}
	sup.takes(a, b)
	elsewhere := a.record(`{"do":"install","surface":"C1","layer":2,"share":1}`)
	sup.takes(a)
	if _, err := sup.try(`{"do":"ruling","on":["` + no.ID + `","` + elsewhere.ID + `"],"keeps":"` + elsewhere.ID + `","reason":"mistaken"}`); err == nil || !strings.Contains(err.Error(), "something else") {
		t.Errorf("a ruling between a check of layer 3 and the work on layer 2: %v", err)
	}
	ruling := sup.record(`{"do":"ruling","on":["` + yes.ID + `","` + no.ID + `"],"keeps":"` + no.ID + `","reason":"looked myself"}`)
	a.takes(sup)
	b.takes(sup, a)
	for _, d := range []*device{a, b, sup} {
		if c := d.check("C1", 3, "K23"); c.State != jobs.CheckFailed || len(d.job.Disputes) != 0 {
			t.Errorf("K23 is %s with %d disputes, want failed with none", c.State, len(d.job.Disputes))
		}
	}
	if export(t, a.job) != export(t, b.job) || export(t, a.job) != export(t, sup.job) {
		t.Error("the same entries export differently")
	}
	// A second ruling that contradicts the first, made without knowing it, settles nothing.
	other := newDevice(t, 4, jobs.Supervisor)
	other.takes(sup)
	other.job = jobs.Fold(jobID, company, append(append(append([]jobs.Entry{}, sup.own[:len(sup.own)-1]...), a.own...), b.own...))
	other.record(`{"do":"ruling","on":["` + yes.ID + `","` + no.ID + `"],"keeps":"` + yes.ID + `","reason":"it was sealed"}`)
	other.takes(sup)
	if c := other.check("C1", 3, "K23"); c.State == jobs.CheckPassed || c.State == jobs.CheckFailed && len(other.job.Disputes) == 0 {
		t.Errorf("K23 is %s after two rulings that contradict each other", c.State)
	}
	_ = ruling
}

func TestInstalledTwiceUnknown(t *testing.T) {
	for _, c := range []struct {
		name, second string
		state        jobs.LayerState
		mass         float64
	}{
		{"the same facts are two witnesses", `{"do":"install","surface":"C1","layer":3,"share":1,"mass_kg_m2":12.6}`, jobs.Installed, 12.6},
		{"different facts are disputed and the smaller mass counts", `{"do":"install","surface":"C1","layer":3,"share":1,"mass_kg_m2":9.8}`, jobs.DisputedLayer, 9.8},
	} {
		a, b := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Site)
		a.start(house)
		b.takes(a)
		a.record(`{"do":"install","surface":"C1","layer":3,"share":1,"mass_kg_m2":12.6}`)
		b.record(c.second)
		a.takes(b)
		b.takes(a)
		for _, d := range []*device{a, b} {
			if l := d.layer("C1", 3); l.State != c.state || !near(l.InstalledMass, c.mass) || l.Share != 1 {
				t.Errorf("%s: %s, %v kg/m², share %v", c.name, l.State, l.InstalledMass, l.Share)
			}
		}
	}
}

func TestEvidenceCounts(t *testing.T) {
	for _, c := range []struct {
		name, edge string
		role       jobs.Role
		want       int
	}{
		{"claimed without a photo", `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":3,"measured":{"gap_mm":0}}`, jobs.Site, 1},
		{"photo, nothing measured", pass("3", "K23"), jobs.Site, 2},
		{"photo and measure", `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":3,"measured":{"gap_mm":0},"photos":["` + photo + `"]}`, jobs.Site, 3},
		{"site claims to have opened up", `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":5,"measured":{"gap_mm":0},"photos":["` + photo + `"]}`, jobs.Site, 3},
		{"supervisor opened up", `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":5,"measured":{"gap_mm":0},"photos":["` + photo + `"]}`, jobs.Supervisor, 5},
		{"nothing to measure: a photo is enough", `{"do":"check","surface":"C1","check":"K44","result":"pass","evidence":3,"photos":["` + photo + `"]}`, jobs.Site, 3},
	} {
		d := newDevice(t, 1, c.role)
		d.start(house)
		e := d.record(c.edge)
		if got := d.job.Evidence(d.job.ByID(e.ID)); got != c.want {
			t.Errorf("%s: evidence %d, want %d", c.name, got, c.want)
		}
	}
}

// A photo recorded by itself on the same check is its photo.
func TestPhotoBesideCheck(t *testing.T) {
	d := newDevice(t, 1, jobs.Site)
	d.start(house)
	d.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":3,"measured":{"gap_mm":0}}`)
	d.record(`{"do":"photo","surface":"C1","layer":3,"check":"K23","file":"` + photo + `"}`)
	if c := d.check("C1", 3, "K23"); c.Evidence != 3 {
		t.Errorf("evidence %d, want 3", c.Evidence)
	}
}

func TestSubstitution(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	lighter := `{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8}`
	site.record(`{"do":"substitute","surface":"C1","layer":3,"state":"asked","layer_new":` + lighter + `,"reason":"wrong pallet"}`)
	if _, err := site.try(`{"do":"substitute","surface":"C1","layer":3,"state":"agreed","layer_new":` + lighter + `,"reason":"I say so"}`); !errors.Is(err, jobs.ErrRefused) {
		t.Fatalf("the site agrees with itself: %v", err)
	}
	sup.takes(site)
	sup.record(`{"do":"substitute","surface":"C1","layer":3,"state":"agreed","layer_new":` + lighter + `,"reason":"inner layer only"}`)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	l := site.layer("C1", 3)
	if !near(l.InstalledMass, 9.8) || !near(l.SpecifiedMass(), 12.6) {
		t.Errorf("installed %v of specified %v kg/m², want 9.8 of 12.6", l.InstalledMass, l.SpecifiedMass())
	}
}

// What is installed to an older list of layers counts for the new one only where the layer is the same.
func TestRespecified(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"install","surface":"F1","layer":1,"share":1}`)
	d.record(`{"do":"install","surface":"F1","layer":2,"share":1}`)
	d.record(`{"do":"respecify","surface":"F1","reason":"heavier deck","specified":[
	  {"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20},
	  {"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":15}]}`)
	if l := d.layer("F1", 1); l.Share != 1 {
		t.Errorf("the mat is the same in both lists: share %v, want 1", l.Share)
	}
	if l := d.layer("F1", 2); l.Share != 0 {
		t.Errorf("the deck differs: share %v, want 0", l.Share)
	}
	if ws := strings.Join(d.job.Surface("F1").Warnings, "\n"); !strings.Contains(ws, "older specification") {
		t.Errorf("no warning of work to an older specification: %s", ws)
	}
}

func TestRefusedAtTheDesk(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":0.7}`)
	for name, edge := range map[string]string{
		"unknown kind":                `{"do":"paint","surface":"C1"}`,
		"no kind":                     `{"surface":"C1"}`,
		"unknown key":                 `{"do":"install","surface":"C1","layer":3,"share":1,"colour":"red"}`,
		"share above 1":               `{"do":"install","surface":"C1","layer":3,"share":1.2}`,
		"share 0":                     `{"do":"install","surface":"C1","layer":3,"share":0}`,
		"more than what is left":      `{"do":"install","surface":"C1","layer":3,"share":0.5}`,
		"layer that does not exist":   `{"do":"install","surface":"C1","layer":9,"share":1}`,
		"layer 0":                     `{"do":"install","surface":"C1","layer":0,"share":1}`,
		"surface that does not exist": `{"do":"install","surface":"C7","layer":1,"share":1}`,
		"negative mass":               `{"do":"install","surface":"C1","layer":4,"share":1,"mass_kg_m2":-3}`,
		"not a number":                `{"do":"install","surface":"C1","layer":4,"share":NaN}`,
		"huge number":                 `{"do":"install","surface":"C1","layer":4,"share":1e999}`,
		"unknown check":               `{"do":"check","surface":"C1","layer":3,"check":"K99","result":"pass"}`,
		"check of another layer":      `{"do":"check","surface":"C1","layer":4,"check":"K23","result":"pass"}`,
		"measure of another check":    `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","measured":{"moisture_percent":12}}`,
		"measure out of range":        `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","measured":{"gap_mm":-1}}`,
		"evidence 6":                  `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":6}`,
		"does not apply, no reason":   `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"not_applicable"}`,
		"put right of nothing":        `{"do":"put_right","cause":"haste","hours":1}`,
		"withdraw nothing":            `{"do":"withdraw","reason":"because"}`,
		"time without zone":           `{"do":"note","text":"x","at":"2026-03-02 10:00"}`,
		"over an unknown entry":       `{"do":"note","text":"x","over":"0197a000-0000-7000-8000-000000000000"}`,
		"a list where one is wanted":  `[]`,
		"empty":                       ``,
	} {
		before := export(t, d.job)
		_, err := d.try(edge)
		var input *jobs.InputError
		if !errors.As(err, &input) {
			t.Errorf("%s: %v, want an input error", name, err)
			continue
		}
		if strings.ContainsAny(err.Error(), "\n\r") {
			t.Errorf("%s: more than one line: %q", name, err)
		}
		if export(t, d.job) != before {
			t.Errorf("%s: something was recorded", name)
		}
	}
}

// A pass on somebody's word counts as passed, and is said to be weak until there is a photo and a value, or a supervisor
// looks. Common practice of this project, no source.
func TestPassOnAWord(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	weak := func(d *device) (codes []string) {
		for _, c := range d.layer("C1", 3).Weak {
			codes = append(codes, c.Rule.Code)
		}
		return codes
	}
	word := site.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass"}`)
	if got := weak(site); len(got) != 1 || got[0] != "K23" {
		t.Fatalf("weak: %v, want K23", got)
	}
	shown := site.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":3,"measured":{"gap_mm":0},"photos":["` + photo + `"],"over":"` + word.ID + `"}`)
	if got := weak(site); len(got) != 0 {
		t.Errorf("weak: %v though photo and value are there", got)
	}
	site.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","over":"` + shown.ID + `"}`)
	sup.takes(site)
	sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	if got := weak(sup); len(got) != 0 {
		t.Errorf("weak: %v though the supervisor said yes", got)
	}
}

// A fault that was shown by photo and value, and put right, lends nothing of that to a pass on a word after it.
func TestPassOnAWordAfterAFault(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	sup.takes(site)
	fault := sup.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","evidence":4,"measured":{"gap_mm":3,"length_m":1.2},"photos":["` + photo + `"]}`)
	site.takes(sup)
	site.record(`{"do":"put_right","over":"` + fault.ID + `","cause":"method","hours":0.5}`)
	site.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","evidence":1}`)
	for _, c := range site.job.Surface("C1").Checks {
		if c.Rule.Code == "K23" && c.Layer == 3 && (c.State != jobs.CheckPassed || c.Evidence != 1) {
			t.Errorf("K23 %s by evidence %d, want passed by 1", c.State, c.Evidence)
		}
	}
	if got := site.layer("C1", 3).Weak; len(got) != 1 || got[0].Rule.Code != "K23" {
		t.Errorf("weak: %d checks, want K23", len(got))
	}
}

// What was agreed after a layer was fitted does not change what was fitted; what tells of it does.
func TestAgreedTooLate(t *testing.T) {
	for state, want := range map[string]float64{"agreed": 12.6, "already_fixed": 9.8} {
		site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
		sup.start(house)
		site.takes(sup)
		site.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
		sup.takes(site)
		sup.record(`{"do":"substitute","surface":"C1","layer":3,"state":"` + state + `","layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8},"reason":"late"}`)
		if got := sup.layer("C1", 3).InstalledMass; !near(got, want) {
			t.Errorf("%s afterwards: installed %v kg/m², want %v", state, got, want)
		}
	}
}

// What was seen before it was covered stays seen, whatever is specified later; its checks are for the old list only. A list that
// changes nothing is refused, or faults found to it would be forgotten for nothing.
func TestSeenBeforeItWasRespecified(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	list := `[{"kind":"board","thickness_mm":12.5,"mass_kg_m2":8},{"kind":"board","thickness_mm":12.5,"mass_kg_m2":8},{"kind":"board","thickness_mm":12.5,"mass_kg_m2":%s}]`
	d.record(`{"do":"respecify","surface":"C1","reason":"three boards","specified":` + fmt.Sprintf(list, "8") + `}`)
	d.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	for _, c := range d.job.Surface("C1").ChecksOf(1) {
		if c.Rule.Stop {
			d.record(`{"do":"release","surface":"C1","layer":1,"checks":["` + c.Rule.Code + `"],"note":"seen by video"}`)
		}
	}
	d.record(`{"do":"install","surface":"C1","layer":2,"share":1}`)
	if l := d.layer("C1", 1); l.CoveredUnseen || l.Covered != 1 {
		t.Fatalf("covered %v, unseen %v: it was released before", l.Covered, l.CoveredUnseen)
	}
	if _, err := d.try(`{"do":"respecify","surface":"C1","reason":"the same","specified":` + fmt.Sprintf(list, "8") + `}`); err == nil {
		t.Error("the list in force was taken again")
	}
	d.record(`{"do":"respecify","surface":"C1","reason":"a heavier last board","specified":` + fmt.Sprintf(list, "10") + `}`)
	if l := d.layer("C1", 1); l.CoveredUnseen {
		t.Error("a later list made of what was seen something unseen")
	}
	if l := d.layer("C1", 1); len(l.Open) == 0 {
		t.Error("releases given to the old list count for the new one")
	}
	// The second board is covered now, to the new list, without any look.
	d.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	if l := d.layer("C1", 2); !l.CoveredUnseen {
		t.Error("covered without a look, and not said")
	}
}
