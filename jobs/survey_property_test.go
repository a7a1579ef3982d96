package jobs_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tacet/jobs"
)

// surveyStory is what an estimator, a supervisor and a fitter record side by side before and as work starts.
func surveyStory(t *testing.T) []jobs.Entry {
	office, sup, site := newDevice(t, 1, jobs.Office), newDevice(t, 2, jobs.Supervisor), newDevice(t, 3, jobs.Site)
	office.start(house)
	sup.takes(office)
	site.takes(office)
	office.start2(ask, `{"do":"flanking","surface":"C1","path":"steel","decision":"tell_client"}`, `{"do":"survey","structure":"J1","finding":"joists","known":"guessed","category":"structure"}`,
		`{"do":"layer_detail","surface":"C1","layer":3,"edge":{"seal":"acoustic_sealant"},"equals":[{"layer":{"kind":"board","thickness_mm":15,"mass_kg_m2":12.9}}]}`,
		`{"do":"quote","price":9000,"currency":"GBP"}`)
	sup.start2(`{"do":"flanking","surface":"C1","path":"steel","decision":"leave"}`, `{"do":"layer_detail","surface":"C1","layer":3,"edge":{"seal":"none"}}`,
		`{"do":"caution","structure":"J1","code":"load","answer":"yes, letter 7","decided_by":"the engineer"}`, `{"do":"survey","category":"hazard","finding":"live cable","known":"seen"}`)
	site.start2(`{"do":"deliver","surface":"C1","layer":3,"material":"board","quantity":6,"unit":"sheet"}`, `{"do":"install","surface":"C1","layer":1,"share":1}`)
	site.takes(office)
	site.start2(`{"do":"substitute","surface":"C1","layer":3,"state":"asked","layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":12.9},"reason":"short"}`,
		`{"do":"return","material":"board 15","quantity":1,"unit":"sheet","reason":"wet","to":"waste"}`)
	sup.takes(office, site)
	sup.start2(`{"do":"sign","surface":"C1","name":"Odette Fenwarden","role":"client","statement":"declined","what":"the steel","flanking":"steel"}`,
		`{"do":"respecify","surface":"F1","reason":"stone","specified":[{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":17.3}]}`,
		`{"do":"layer_detail","surface":"C1","layer":3,"edge":{"seal":"tape"}}`, `{"do":"quote","price":8800,"currency":"GBP"}`,
		`{"do":"baseline","at":"2026-03-01T09:00:00Z","answers":{"footsteps":9,"voices":8}}`)
	var all []jobs.Entry
	for _, d := range []*device{office, sup, site} {
		all = append(all, d.own...)
	}
	return all
}

// derived is everything that follows from the record besides the predictions.
func derived(j *jobs.Job) string {
	var b strings.Builder
	quotes, err := json.Marshal(j.Quotes())
	fmt.Fprintln(&b, j.Warnings, string(quotes), err, j.LikeGroups(), len(j.Assumptions()), len(j.Disputes))
	for _, s := range j.Surfaces {
		fmt.Fprintln(&b, s.Code, s.Warnings, j.FlankingList(s), j.Cautions(s))
		for _, l := range s.Layers {
			fmt.Fprintln(&b, l.N, s.Roles(j, l), l.Now.MassKgM2())
		}
	}
	for _, i := range j.OrderOf(jobs.Firm{}).Items {
		fmt.Fprintln(&b, i.Item, i.Delivered, i.Returned, i.Short, i.LeftOver)
	}
	return b.String()
}

// In any order of arrival, folded one by one or at once, the same follows from the same entries.
func TestWhatFollowsIsAFunctionOfTheSet(t *testing.T) {
	all := surveyStory(t)
	want := derived(jobs.Fold(jobID, company, all))
	for _, part := range []string{"declined", "letter 7", "12.9", "the load is 0.69"} {
		if !strings.Contains(want, part) {
			t.Fatalf("the story does not come to %q:\n%s", part, want)
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		order := rapid.Permutation(all).Draw(rt, "order")
		j := jobs.NewJob(jobID, company)
		for _, e := range order {
			j.Add(e)
		}
		if got := derived(j); got != want {
			rt.Fatalf("one by one:\n%s\nat once:\n%s", got, want)
		}
	})
}

// Every entry of the story, replaced or not, can still be read word for word.
func TestReplacedStaysReadable(t *testing.T) {
	all := surveyStory(t)
	j := jobs.Fold(jobID, company, all)
	lines, err := j.History()
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != len(all) || j.Unread != 0 {
		t.Fatalf("%d lines of %d entries, %d unread", len(lines), len(all), j.Unread)
	}
	replaced := 0
	for _, l := range lines {
		if !l.InForce {
			replaced++
		}
		if len(l.Body) < 3 {
			t.Errorf("entry %s reads %s", l.ID, l.Body)
		}
	}
	if replaced != 4 {
		t.Errorf("%d replaced entries; the story replaces a list, a quote and two details", replaced)
	}
}
