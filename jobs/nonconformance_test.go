package jobs_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
)

// A fault goes its way from found to put right to accepted; the one who put it right does not accept it.
func TestNonConformanceFromFoundToAccepted(t *testing.T) {
	site, other, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Site), newDevice(t, 3, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1,"by":"Pavo"}`)
	fail := site.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","measured":{"screw_mm":60,"count":14},"evidence":3,"photos":["` + photo + `"]}`)
	site.record(`{"do":"check","surface":"C1","layer":3,"check":"K20","result":"could_not_see"}`)
	only := func(d *device) jobs.NonConformance {
		t.Helper()
		for _, n := range d.job.NonConformances() {
			if n.Found.ID == fail.ID {
				return n
			}
		}
		t.Fatal("the fault is not listed")
		return jobs.NonConformance{}
	}
	n := only(site)
	if n.State != jobs.NCFound || n.Grade != jobs.GradeStop || !strings.Contains(n.Saw, "60 mm") || n.Consequence == "" || !n.Open() {
		t.Errorf("found: %+v", n)
	}
	if all := site.job.NonConformances(); len(all) != 2 || all[1].Grade != jobs.GradeNote || all[1].Open() {
		t.Errorf("what could not be seen is a note: %+v", all)
	}
	cure := site.record(`{"do":"put_right","over":"` + fail.ID + `","cause":"material","hours":2.5,"cost":40}`)
	if n := only(site); n.State != jobs.NCPutRight || n.Hours != 2.5 || n.Cost != 40 || n.Cause != jobs.CauseMaterial || n.PutRight.ID != cure.ID {
		t.Errorf("put right: %+v", n)
	}
	// A pass by a colleague without the right to judge accepts nothing.
	other.takes(sup, site)
	other.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"pass","evidence":3,"measured":{"screw_mm":32},"photos":["` + photo + `"]}`)
	if n := only(other); n.State != jobs.NCPutRight {
		t.Errorf("accepted by the site: %+v", n)
	}
	// A supervisor who does not know yet that it was put right accepts nothing either.
	blind := newDevice(t, 4, jobs.Supervisor)
	blind.takes(sup)
	blind.job = jobs.Fold(jobID, company, slices.Concat(sup.own, site.own[:3]))
	blind.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	site.takes(blind)
	if n := only(site); n.State != jobs.NCPutRight {
		t.Errorf("accepted without having seen it: %+v", n)
	}
	sup.takes(site, other, blind)
	yes := sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	site.takes(sup, other)
	for _, d := range []*device{site, sup} {
		if n := only(d); n.State != jobs.NCAccepted || n.Accepted.ID != yes.ID || n.OwnWork || n.Open() {
			t.Errorf("accepted: %+v", n)
		}
	}
	want := []jobs.CauseSum{{Cause: jobs.CauseMaterial, N: 1, Hours: 2.5, Cost: 40}}
	if got := site.job.PutRightByCause(); !slices.Equal(got, want) {
		t.Errorf("by cause %+v, want %+v", got, want)
	}
	if crew := site.job.Crew(); len(crew) != 2 || crew[0].Who != "Pavo" || crew[0].Installs != 1 || crew[1].PutRights != 1 || !slices.Equal(crew[1].Surfaces, []string{"C1"}) {
		t.Errorf("crew %+v", crew)
	}
}

// What the supervisor asks for has a grade, somebody who acts and a date; the later answer accepts it and does not hide it.
func TestAuditIsANonConformance(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1,"from_paper":true,"by":"Idris"}`)
	sup.takes(site)
	ask := sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"north edge sealed on 3 sides only","acts":"Idris","until":"2026-03-04T12:00:00Z"}`)
	site.takes(sup)
	if n := site.job.NonConformances(); len(n) != 1 || n[0].Grade != jobs.GradePutRight || n[0].Acts != "Idris" || n[0].Until == "" || n[0].State != jobs.NCFound {
		t.Fatalf("asked: %+v", n)
	}
	if _, err := sup.try(`{"do":"sign_off","surface":"C1"}`); err == nil {
		t.Error("signed off with a fault that is not put right")
	}
	site.record(`{"do":"put_right","over":"` + ask.ID + `","cause":"haste","hours":3}`)
	sup.takes(site)
	sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	if n := sup.job.NonConformances(); len(n) != 1 || n[0].State != jobs.NCAccepted || n[0].Cause != jobs.CauseHaste {
		t.Errorf("accepted: %+v", n)
	}
	if crew := sup.job.Crew(); crew[0].FromPaper != 1 {
		t.Errorf("typed in from paper: %+v", crew)
	}
	sup.record(`{"do":"withdraw","over":"` + ask.ID + `","reason":"wrong surface"}`)
	if n := sup.job.NonConformances(); len(n) != 0 {
		t.Errorf("withdrawn, still listed: %+v", n)
	}
}

// The person who did the work may not accept it, at either door; who is all of the firm may.
func TestNobodyAcceptsOwnWork(t *testing.T) {
	for _, edge := range []string{
		`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`,
		`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`,
		`{"do":"release","surface":"C1","checks":["K13"]}`,
		`{"do":"sign_off","surface":"C1","layer":3}`,
		`{"do":"sign_off"}`,
	} {
		sup, site := newDevice(t, 1, jobs.Supervisor), newDevice(t, 2, jobs.Site)
		sup.start(house)
		sup.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
		site.takes(sup)
		site.record(`{"do":"note","text":"here too"}`)
		sup.takes(site)
		if _, err := sup.try(edge); !errors.Is(err, jobs.ErrRefused) {
			t.Errorf("%s on own work: %v", edge, err)
		}
		// Another supervisor may, and so may who only typed in what somebody else did.
		second := newDevice(t, 3, jobs.Supervisor)
		second.takes(sup, site)
		e := second.record(edge)
		if err := jobs.Admit(sup.job, e); err != nil {
			t.Errorf("%s by another: %v", edge, err)
		}
		typist := newDevice(t, 4, jobs.Supervisor)
		typist.start(house)
		typist.record(`{"do":"install","surface":"C1","layer":3,"share":1,"by":"Idris","from_paper":true}`)
		if _, err := typist.try(edge); err != nil {
			t.Errorf("%s after typing in a paper sheet: %v", edge, err)
		}
		alone := newDevice(t, 5, jobs.Owner)
		alone.start(house)
		alone.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
		if _, err := alone.try(edge); err != nil {
			t.Errorf("%s in a firm of one: %v", edge, err)
		}
	}
	// Asking for something to be put right is nobody's privilege to lose.
	sup := newDevice(t, 1, jobs.Supervisor)
	sup.start(house)
	sup.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	if _, err := sup.try(`{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"mine, and wrong"}`); err != nil {
		t.Error(err)
	}
}

// In a firm of one the record shows that nobody else accepted it.
func TestOwnWorkIsShown(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	fail := d.record(`{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","measured":{"gap_mm":3}}`)
	d.record(`{"do":"put_right","over":"` + fail.ID + `","cause":"haste","hours":1}`)
	d.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	if n := d.job.NonConformances(); len(n) != 1 || n[0].State != jobs.NCAccepted || !n[0].OwnWork {
		t.Errorf("%+v", n)
	}
}

// What was not seen is kept with the sign-off as it stood, whatever is recorded later.
func TestSignOffKeepsWhatWasNotSeen(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	site.record(`{"do":"install","surface":"C1","layer":4,"share":1}`)
	sup.takes(site)
	off := sup.record(`{"do":"sign_off","surface":"C1","not_seen":["behind the boxing"]}`)
	kept := sup.job.ByID(off.ID).What.(*jobs.SignOff).NotSeen
	all := strings.Join(kept, "\n")
	for _, want := range []string{"behind the boxing", "C1, layer 3: covered unseen", "C1, layer 3: K23 Perimeter sealed: nobody answered"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q is not among what was not seen:\n%s", want, all)
		}
	}
	if len(kept) < 4 {
		t.Errorf("only %d lines", len(kept))
	}
	if sup.layer("C1", 4).State == jobs.Accepted {
		t.Error("a surface's sign-off is not a layer's")
	}
	sup.record(`{"do":"sign_off","surface":"C1","layer":4}`)
	if got := sup.layer("C1", 4).State; got != jobs.Accepted {
		t.Errorf("layer 4 is %s, want accepted", got)
	}
	if _, err := site.try(`{"do":"sign_off"}`); !errors.Is(err, jobs.ErrRefused) {
		t.Errorf("the site signs off: %v", err)
	}
}

// "I am coming" takes nothing back: what was asked for stays to be put right.
func TestComingTakesNothingBack(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	sup.takes(site)
	ask := sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"north edge"}`)
	sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"coming"}`)
	if got := sup.layer("C1", 3).State; got != jobs.ToPutRight {
		t.Errorf("layer 3 is %s, want to_put_right", got)
	}
	site.takes(sup)
	site.record(`{"do":"put_right","over":"` + ask.ID + `","cause":"haste","hours":1}`)
	sup.takes(site)
	sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	if n := sup.job.NonConformances(); len(n) != 1 || n[0].State != jobs.NCAccepted || sup.layer("C1", 3).State != jobs.Accepted {
		t.Errorf("%s, %+v", sup.layer("C1", 3).State, n)
	}
}

// What arrives is judged by the same rule: an acceptance of own work that another device of the same person wrote without
// knowing of the work is held; what a home was allowed while it worked alone stays allowed when it joins a company.
func TestOwnWorkThatArrives(t *testing.T) {
	phone, laptop, other := newDevice(t, 1, jobs.Supervisor), newDevice(t, 2, jobs.Supervisor), newDevice(t, 3, jobs.Site)
	phone.start(house)
	other.takes(phone)
	laptop.takes(phone)
	laptop.by = phone.by
	other.record(`{"do":"note","text":"here too"}`)
	phone.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	release := laptop.record(`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	server := jobs.Fold(jobID, company, append(append([]jobs.Entry{}, phone.own...), other.own...))
	if err := jobs.Admit(server, release); !errors.Is(err, jobs.ErrRefused) || !strings.Contains(err.Error(), "may not accept it") {
		t.Errorf("own work accepted from another device: %v", err)
	}

	alone := newDevice(t, 5, jobs.Owner)
	alone.start(house)
	alone.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	own := alone.record(`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	for _, was := range []jobs.Hash{{}, own.Hash} {
		env := own.Envelope
		env.Role, env.Was = jobs.Supervisor, was
		again, err := jobs.NewEntry(env, own.Data)
		if err != nil {
			t.Fatal(err)
		}
		before := jobs.Fold(jobID, company, alone.own[:len(alone.own)-1])
		if err := jobs.Admit(before, again); (err == nil) != !was.IsZero() {
			t.Errorf("issued anew %v: %v", !was.IsZero(), err)
		}
	}
}
