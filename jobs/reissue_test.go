package jobs_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tacet/jobs"
)

// repeatAll issues entries again from another device, as one that was restored does: new ids, references mapped.
func repeatAll(t *testing.T, es []jobs.Entry, dev int) []jobs.Entry {
	t.Helper()
	var out []jobs.Entry
	now := map[jobs.Hash]jobs.Hash{}
	ids := [][2][]byte{}
	prev := jobs.Hash{}
	for i, e := range es {
		env := e.Envelope
		env.ID = fmt.Sprintf("%08x-0000-7000-8000-0000000e%04d", i+1, dev)
		env.Dev = fmt.Sprintf("0197a000-0000-7000-8000-0000000d%04d", dev)
		env.Was, env.Seq, env.Run, env.Prev = e.Hash, int64(i+1), int64(i+1), prev
		env.Refs = slices.Clone(env.Refs)
		for k, ref := range env.Refs {
			if h, ok := now[ref.H]; ok {
				env.Refs[k].H = h
			}
		}
		ids = append(ids, [2][]byte{[]byte(e.ID), []byte(env.ID)})
		body := e.Data
		for _, id := range ids {
			body = bytes.ReplaceAll(body, id[0], id[1])
		}
		again, err := jobs.NewEntry(env, body)
		if err != nil {
			t.Fatal(err)
		}
		now[e.Hash], prev = again.Hash, again.Hash
		out = append(out, again)
	}
	return out
}

// A device's entries and their repetitions make the job that the entries alone make, in any order of arrival; without the
// originals, the repetitions make it.
func TestRepeatedEntriesCountOnce(t *testing.T) {
	a, sup := newDevice(t, 1, jobs.Site), newDevice(t, 3, jobs.Supervisor)
	sup.start(house)
	a.takes(sup)
	a.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	a.record(`{"do":"install","surface":"C1","layer":2,"share":0.5}`)
	no := a.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","measured":{"screw_mm":60,"count":14},"evidence":3}`)
	yes := a.record(pass("3", "K19"))
	cure := a.record(`{"do":"put_right","over":"` + no.ID + `","cause":"material","hours":2}`)
	again, twice := repeatAll(t, a.own, 8), repeatAll(t, a.own, 9)
	sup.takes(a)
	ruling := sup.record(`{"do":"ruling","on":["` + yes.ID + `","` + no.ID + `"],"keeps":"` + yes.ID + `","reason":"redone"}`)
	facts := func(j *jobs.Job) string {
		return fmt.Sprintf("%d records, %d disputes, %v, layer 2 %.2f, layer 3 %s", len(j.Records), len(j.Disputes), j.Surfaces[0].Layers[2].State, j.Surfaces[0].Layers[1].Share, j.Surfaces[0].Layers[2].State)
	}
	plain := append(slices.Clone(sup.own), a.own...)
	want, whole := facts(jobs.Fold(jobID, company, plain)), export(t, jobs.Fold(jobID, company, plain))
	rapid.Check(t, func(rt *rapid.T) {
		all := append(slices.Clone(plain), again...)
		if rapid.Bool().Draw(rt, "a second copy") {
			all = append(all, twice...)
		}
		j := jobs.NewJob(jobID, company)
		for _, e := range rapid.Permutation(all).Draw(rt, "order") {
			j.Add(e)
		}
		if got := export(t, j); got != whole {
			rt.Fatalf("got  %s\nwant %s", got, whole)
		}
		if len(j.Entries()) != len(all) {
			rt.Fatalf("%d entries of %d", len(j.Entries()), len(all))
		}
		if r := j.ByID(again[0].ID); r == nil || r.Hash != a.own[0].Hash {
			rt.Fatal("the id of a repetition does not lead to what it repeats")
		}
	})
	// nobody has the originals: either copy makes the same, and both together count once
	for name, es := range map[string][]jobs.Entry{"one": again, "both": append(slices.Clone(again), twice...)} {
		all := slices.Clone(es)
		for _, e := range sup.own {
			if e.Hash != ruling.Hash {
				all = append(all, e)
			}
		}
		some := slices.DeleteFunc(slices.Clone(plain), func(e jobs.Entry) bool { return e.Hash == ruling.Hash })
		got, want := facts(jobs.Fold(jobID, company, all)), facts(jobs.Fold(jobID, company, some))
		if got != want {
			t.Errorf("%s: got %s, want %s", name, got, want)
		}
	}
	// a word on a repetition is a word on what it repeats
	seen := newDevice(t, 4, jobs.Supervisor)
	for _, e := range append(slices.Clone(sup.own), again...) {
		seen.job.Add(e)
	}
	seen.record(`{"do":"withdraw","over":"` + again[0].ID + `","reason":"not on this surface"}`)
	j := jobs.Fold(jobID, company, append(append(slices.Clone(plain), again...), seen.own...))
	if j.InForce(j.ByHash(a.own[0].Hash)) {
		t.Error("the original of what was withdrawn is in force")
	}
	if !strings.Contains(want, "records") || cure.ID == "" {
		t.Error(want)
	}
}

// Who judges says what becomes of entries that are held; nobody admits their own, and nothing out of range.
func TestAdmission(t *testing.T) {
	sup, other := newDevice(t, 3, jobs.Supervisor), newDevice(t, 4, jobs.Supervisor)
	sup.start(house)
	other.takes(sup)
	site := newDevice(t, 5, jobs.Site)
	site.takes(sup)
	waits := site.record(`{"do":"note","text":"held"}`)
	say := func(answer, id string) string {
		return `{"do":"admission","on":["` + id + `"],"answer":"` + answer + `","reason":"seen on site"}`
	}
	if _, err := sup.try(say("admit", waits.ID)); err == nil {
		t.Error("an entry that is not held was answered")
	}
	sup.job.Hold(waits)
	site.job.Hold(waits)
	if _, err := site.try(say("admit", waits.ID)); err == nil {
		t.Error("a site hand ruled")
	}
	own := sup.record(`{"do":"note","text":"mine"}`)
	sup.job.Hold(own)
	if _, err := sup.try(say("admit", own.ID)); err == nil {
		t.Error("somebody admitted a record of their own")
	}
	if _, err := sup.try(say("later", waits.ID)); err == nil {
		t.Error("an answer that there is not")
	}
	e := sup.record(say("admit", waits.ID))
	if hs := e.Refers(jobs.Sees); len(hs) != 1 || hs[0] != waits.Hash {
		t.Errorf("what was judged is not pinned: %+v", e.Refs)
	}
	if held := sup.job.Held(); len(held) != 2 {
		t.Errorf("%d are held", len(held))
	}
}
