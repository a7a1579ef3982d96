package jobs_test

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tacet/jobs"
)

// story is what two people and a supervisor record side by side, with conflicts of most kinds.
func story(t *testing.T) []jobs.Entry {
	a, b, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Site), newDevice(t, 3, jobs.Supervisor)
	sup.start(house)
	a.takes(sup)
	b.takes(sup)
	a.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	a.record(`{"do":"install","surface":"C1","layer":2,"share":1}`)
	b.record(`{"do":"install","surface":"C1","layer":2,"share":0.5}`)
	yes := a.record(pass("3", "K19"))
	fail := b.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","measured":{"screw_mm":60,"count":14},"evidence":3}`)
	b.record(`{"do":"put_right","over":"` + fail.ID + `","cause":"material","hours":2}`)
	a.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	a.takes(b)
	a.record(`{"do":"install","surface":"C1","layer":4,"share":1}`)
	a.record(`{"do":"note","text":"the bay is tight"}`)
	sup.takes(a, b)
	sup.record(`{"do":"ruling","on":["` + yes.ID + `","` + fail.ID + `"],"keeps":"` + yes.ID + `","reason":"redone"}`)
	sup.record(`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	sup.record(`{"do":"surface","code":"F1","kind":"floor","structure":"J1","side":2,"width_m":4.2,"height_m":3.7}`)
	b.takes(sup, a)
	b.record(`{"do":"install","surface":"F1","layer":1,"share":0.25,"mass_kg_m2":15.5}`)
	var all []jobs.Entry
	for _, d := range []*device{a, b, sup} {
		all = append(all, d.own...)
	}
	return all
}

// Any order of arrival, with any entry given twice, folds to the same bytes; folding one by one equals folding at once.
func TestFoldIsAFunctionOfTheSet(t *testing.T) {
	all := story(t)
	want := export(t, jobs.Fold(jobID, company, all))
	rapid.Check(t, func(rt *rapid.T) {
		order := rapid.Permutation(all).Draw(rt, "order")
		again := rapid.SliceOfN(rapid.SampledFrom(all), 0, 5).Draw(rt, "again")
		j := jobs.NewJob(jobID, company)
		for _, e := range append(order, again...) {
			j.Add(e)
		}
		if got := export(t, j); got != want {
			rt.Fatalf("folded one by one:\n%s\nat once:\n%s", got, want)
		}
		if got := export(t, jobs.Fold(jobID, company, order)); got != want {
			rt.Fatalf("folded in another order:\n%s\nwant:\n%s", got, want)
		}
	})
}

// Every prefix in arrival order folds, and a part of the entries is never an error: the rest is on its way.
func TestFoldOfAnyPart(t *testing.T) {
	all := story(t)
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		part := []jobs.Entry{}
		for _, e := range all {
			if r.IntN(2) == 0 {
				part = append(part, e)
			}
		}
		j := jobs.Fold(jobID, company, part)
		export(t, j)
		j.View()
	}
}

// Entries that name each other keep their order whatever their clocks say: a device whose clock ran a year ahead for a
// day changes no state.
func TestClocksDoNotDecide(t *testing.T) {
	for _, ahead := range []jobs.Clock{0, 1 << 40, 1 << 50} {
		a, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
		sup.start(house)
		a.takes(sup)
		a.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
		a.record(pass("3", "K19"))
		sup.takes(a)
		sup.clk += ahead
		sup.record(`{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
		for _, e := range sup.own {
			a.job.Add(e) // without taking over the clock
		}
		a.record(`{"do":"install","surface":"C1","layer":4,"share":1}`)
		if got := a.layer("C1", 3).State; got != jobs.CoveredLayer {
			t.Errorf("clock ahead by %d: layer 3 is %s, want covered: the release came first", ahead, got)
		}
	}
}

// An entry of a kind that this version does not know is kept and counted, and what it supersedes is no longer passed.
func TestNewerVersion(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	e := d.record(pass("3", "K23"))
	newer, err := jobs.NewEntry(jobs.Envelope{ID: "0197a000-9999-7000-8000-0000000d0001", Co: company, Job: jobID, Dev: d.id, Seq: d.seq + 1, Prev: d.prev, Run: d.seq + 1,
		Clk: d.clk + 1, By: d.by, Role: d.role, Kind: "acoustic_camera", KV: 3, On: jobs.On{Surface: "C1", Layer: 3, Check: "K23"}, Refs: []jobs.Ref{{H: e.Hash, As: jobs.Over}}}, []byte(`{"salt":"x"}`))
	if err != nil {
		t.Fatal(err)
	}
	if err := jobs.Admit(d.job, newer); err != nil {
		t.Fatalf("an unknown kind must stand: %v", err)
	}
	d.job.Add(newer)
	if d.job.Unread != 1 {
		t.Errorf("%d entries not understood, want 1", d.job.Unread)
	}
	if c := d.check("C1", 3, "K23"); c.State == jobs.CheckPassed {
		t.Error("K23 still counts as passed though a newer version superseded its answer")
	}
}

// A clone is the job again, and what is added to one is not in the other.
func TestClone(t *testing.T) {
	all := story(t)
	half := jobs.Fold(jobID, company, all[:len(all)/2])
	before := export(t, half)
	clone := half.Clone()
	if export(t, clone) != before {
		t.Fatal("the clone is another job")
	}
	for _, e := range all[len(all)/2:] {
		clone.Add(e)
	}
	if want := export(t, jobs.Fold(jobID, company, all)); export(t, clone) != want {
		t.Error("a clone with the other half added is not the whole")
	}
	if export(t, half) != before {
		t.Error("adding to the clone changed the job")
	}
}

// Two colleagues put the same fault right, neither knowing of the other. Which of the two records the job shows is the first in fold
// order, in whatever order they came.
func TestWhoPutRightIsTheSameForAll(t *testing.T) {
	a, b := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Site)
	a.start(house)
	fail := a.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail"}`)
	b.takes(a)
	for _, d := range []*device{a, b} {
		d.record(`{"do":"put_right","over":"` + fail.ID + `","cause":"haste","hours":1}`)
	}
	all := slices.Concat(a.own, b.own)
	first := slices.MinFunc([]jobs.Entry{a.own[len(a.own)-1], b.own[len(b.own)-1]}, func(x, y jobs.Entry) int { return cmp.Compare(x.Clk, y.Clk) })
	for _, order := range [][]jobs.Entry{all, slices.Concat(b.own, a.own)} {
		added := jobs.NewJob(jobID, company)
		for _, e := range order {
			added.Add(e)
		}
		for how, j := range map[string]*jobs.Job{"folded": jobs.Fold(jobID, company, order), "added": added, "copied": added.Clone()} {
			if cure := j.CuredBy(j.ByID(fail.ID)); cure == nil || cure.ID != first.ID {
				t.Errorf("%s, entries of %s first: put right by %v, not by %s", how, order[0].Dev, cure, first.ID)
			}
		}
	}
}
