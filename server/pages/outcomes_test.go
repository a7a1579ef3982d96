package pages_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
	"tacet/sync/replica"
)

const wallFamily = "W-independent-2-masonry"

// yearOfWalls records n finished walls of one build-up: quoted, built, tested, asked after a month; every fourth with a
// complaint that was found to be ours and put right, every fifth never heard of.
func yearOfWalls(t *testing.T, w *pagestest.World, n int) {
	t.Helper()
	for i := range n {
		id := fmt.Sprintf("018f0000-0000-7000-8000-0000000e%04d", i)
		w.Import(id, "ropewalk.json")
		day := time.Date(2026, 1, 5, 10, 0, 0, 0, time.UTC).AddDate(0, 0, 7*i)
		at := func(days int) string { return day.AddDate(0, 0, days).Format(time.RFC3339) }
		edges := []string{fmt.Sprintf(`{"do":"baseline","answers":{"voices":%d},"at":"%s"}`, 6+i%4, at(-1)), `{"do":"quote","price":3000,"currency":"GBP"}`}
		for l := 1; l <= 3; l++ {
			edges = append(edges, fmt.Sprintf(`{"do":"install","surface":"W1","layer":%d,"share":1,"at":"%s"}`, l, at(l)))
		}
		// The quote was recorded on the clock of the tests, so the test has to come later than that.
		edges = append(edges, fmt.Sprintf(`{"do":"sound_test","quantity":"rw","value_db":%d,"source_room":"a","receiving_room":"back bedroom","surfaces":["W1"],"body":"Saltgate Test Room","at":"%s"}`, 55+i%5, w.Now.Add(8*time.Minute).UTC().Format(time.RFC3339)))
		if i%5 != 4 {
			edges = append(edges, fmt.Sprintf(`{"do":"follow_up","month":1,"answers":{"voices":%d},"at":"%s"}`, i%3, at(31)))
		}
		if i%4 == 0 {
			edges = append(edges, fmt.Sprintf(`{"do":"complaint","words":"voices at night","kind":"voices","received":"%s","surface":"W1"}`, at(60)[:10]))
		}
		es := w.Record(pagestest.Maren, jobs.Supervisor, id, edges...)
		if i%4 == 0 {
			w.Record(pagestest.Maren, jobs.Supervisor, id, fmt.Sprintf(`{"do":"outcome","over":"%s","outcome":"ours_put_right","cause":"not_built_as_specified","confidence":"opened"}`, es[len(es)-1].ID))
		}
	}
}

func TestOutcomesOfNothing(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.As(pagestest.Maren, jobs.Supervisor)
	doc := page(t, w, "/outcomes")
	if says := doc.one(t, "h1").words(); !strings.Contains(says, "nothing can be said") {
		t.Errorf("of nothing it says %q", says)
	}
	if says := doc.words(); !strings.Contains(says, "There is no job yet") || strings.Contains(says, "0 of 0") || len(doc.all("img")) > 0 {
		t.Errorf("of nothing it shows tables or charts: %s", says)
	}
}

// Where jobs are worked on and nobody was heard from, that is said once, and no rates of nothing are listed.
func TestOutcomesOfNobodyHeard(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	says := page(t, w, "/outcomes").words()
	if n := strings.Count(says, "Nobody has been heard from since the work; nothing can be said"); n != 1 {
		t.Errorf("it is said %d times that nobody was heard from", n)
	}
	for _, empty := range []string{"0 of 0 too few", "not known –", "0 % to 100 % 0 % to 100 %"} {
		if strings.Contains(strings.ReplaceAll(says, "\u202f", " "), empty) {
			t.Errorf("it lists %q: %s", empty, says)
		}
	}
}

func TestOutcomes(t *testing.T) {
	w := lanternWorld(t)
	yearOfWalls(t, w, 12)
	w.As(pagestest.Maren, jobs.Supervisor)
	// 3 of 12 complained; of the other 9, those not asked stay unknown: jobs 9 (4 and 9 are not asked, 4 complained).
	doc := page(t, w, "/outcomes")
	if says := doc.one(t, "h1").words(); !strings.Contains(says, "3 of 11 jobs heard from after handover") {
		t.Errorf("the answer is %q, want 3 of 11 jobs", says)
	}
	if n := strings.Count(get(t, w, "/outcomes").body, "/outcomes-chart/differences/"); n == 0 {
		t.Error("twelve tested walls of one family, and no chart of their differences")
	}
	family := page(t, w, "/outcomes/"+wallFamily)
	if says := family.one(t, "h1").words(); !strings.Contains(says, "over 12 jobs") || !strings.Contains(says, "Rw") {
		t.Errorf("the family says %q", says)
	}
	// Everything the pages show or lead to is there, and each page is light and well made.
	for _, path := range []string{"/outcomes", "/outcomes/" + wallFamily, "/outcomes/" + wallFamily + "/review", "/outcomes-correction"} {
		r := get(t, w, path)
		doc := parsePage(t, r.body)
		checkMarkup(t, path, doc)
		checkHeaders(t, path, r)
		if len(r.body) > 60<<10 {
			t.Errorf("%s: %d bytes", path, len(r.body))
		}
		for _, attr := range []string{"href", "src", "srcset"} {
			for _, n := range doc.all("[" + attr + "]") {
				target, _, _ := strings.Cut(n.attr[attr], "#")
				if target == "" {
					continue
				}
				got := get(t, w, target)
				if got.status != http.StatusOK {
					t.Errorf("%s leads to %s: %d", path, target, got.status)
				}
				if strings.Contains(target, "chart") && (!strings.Contains(got.body, "<title>") || !strings.Contains(got.body, "<desc>") || strings.Contains(got.body, "NaN")) {
					t.Errorf("%s states no result, or is no picture", target)
				}
			}
		}
		for _, img := range doc.all("img") {
			if img.attr["alt"] == "" {
				t.Errorf("%s: a chart without words", path)
			}
		}
	}
	for _, c := range []string{"families", "jobs", "to-share"} {
		r := get(t, w, "/outcomes-"+c+".csv")
		if !strings.HasPrefix(r.header.Get("Content-Type"), "text/csv") || !strings.Contains(r.body, "(dB)") {
			t.Errorf("%s: %s", c, r.header.Get("Content-Type"))
		}
		if c == "to-share" && (strings.Contains(r.body, "Ropewalk") || strings.Contains(r.body, "018f")) {
			t.Error("what is shared names jobs")
		}
	}
	for _, path := range []string{"/outcomes/none", "/outcomes-chart/none/328", "/outcomes-chart/free/99999", "/outcomes-chart/free/x", "/outcomes-all.csv", "/outcomes/" + wallFamily + "/chart/none/328"} {
		if got := get(t, w, path).status; got != http.StatusNotFound {
			t.Errorf("%s: %d, want 404", path, got)
		}
	}
}

// With one tested wall there is nothing to draw a mean of: the page says so and shows no empty chart.
func TestOutcomesOfOneTest(t *testing.T) {
	w := lanternWorld(t)
	yearOfWalls(t, w, 1)
	w.As(pagestest.Maren, jobs.Supervisor)
	r := get(t, w, "/outcomes")
	if !strings.Contains(r.body, "/outcomes-chart/measured/") || strings.Contains(r.body, "/outcomes-chart/differences/") {
		t.Error("one tested wall: want the chart of what was measured, and none of means")
	}
	if says := parsePage(t, r.body).words(); !strings.Contains(says, "too few to say") {
		t.Errorf("it does not say that there are too few: %s", says)
	}
}

// The rule proposes, an entry marks, and only an entry takes the mark away. The site may not look.
func TestFamilyReview(t *testing.T) {
	w := lanternWorld(t)
	yearOfWalls(t, w, 9)
	path := "/outcomes/" + wallFamily
	w.As(pagestest.Pavo, jobs.Site)
	if got := get(t, w, path).status; got != http.StatusForbidden {
		t.Errorf("the site reads outcomes: %d", got)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	if says := page(t, w, "/outcomes").words(); !strings.Contains(says, "Asks for a review: 2 of the last 8 jobs") {
		t.Errorf("the rule is silent: %s", says)
	}
	if r := post(t, w, path+"/review", map[string][]string{"reason": {" "}}); r.status != http.StatusUnprocessableEntity {
		t.Errorf("marked without a reason: %d", r.status)
	}
	if r := post(t, w, path+"/review", map[string][]string{"reason": {"two put right"}}); r.status != http.StatusSeeOther {
		t.Fatalf("mark: %d %s", r.status, r.body)
	}
	if says := page(t, w, path).words(); !strings.Contains(says, "Marked for review: two put right") || !strings.Contains(says, "Clear the mark") {
		t.Errorf("not marked: %s", says)
	}
	if r := post(t, w, path+"/review", map[string][]string{"reason": {"clip pitch changed"}}); r.status != http.StatusSeeOther {
		t.Fatalf("clear: %d", r.status)
	}
	if says := page(t, w, path).words(); strings.Contains(says, "Marked for review") {
		t.Errorf("still marked: %s", says)
	}
	firm := w.JobAs(pagestest.Company)
	if n := len(firm.Of("review")); n != 2 {
		t.Errorf("%d entries in the firm's own job, want 2", n)
	}
}

// The correction is switched on and off by an entry of the firm, says what it changes, and leaves the prediction alone.
func TestCorrectionIsSwitched(t *testing.T) {
	w := lanternWorld(t)
	yearOfWalls(t, w, 8)
	w.As(pagestest.Maren, jobs.Supervisor)
	lines := func() []string {
		t.Helper()
		s, err := pages.OutcomesOf(t.Context(), w.Replica, pagestest.Company)
		if err != nil {
			t.Fatal(err)
		}
		j := w.JobAs("018f0000-0000-7000-8000-0000000e0001")
		return pages.CorrectedLines(s, j, j.Surface("W1"), j.PredictSpecified(j.Surface("W1")))
	}
	const prediction = "/jobs/018f0000-0000-7000-8000-0000000e0001/s/W1/prediction"
	if says := page(t, w, prediction).words(); strings.Contains(says, "firm's own outcomes") {
		t.Error("the prediction shows it before anybody switched it on")
	}
	if got := lines(); len(got) != 0 {
		t.Errorf("corrected before anybody switched it on: %q", got)
	}
	if says := page(t, w, "/outcomes-correction").words(); !strings.Contains(says, "Nobody has decided yet") || !strings.Contains(says, "from 8 measured jobs of its own") {
		t.Errorf("it does not say what it would change: %s", says)
	}
	if r := post(t, w, "/outcomes-correction", map[string][]string{"on": {"true"}}); r.status != http.StatusUnprocessableEntity {
		t.Errorf("switched on without a reason: %d", r.status)
	}
	if r := post(t, w, "/outcomes-correction", map[string][]string{"on": {"true"}, "reason": {"eight tested walls"}}); r.status != http.StatusSeeOther {
		t.Fatalf("switch on: %d %s", r.status, r.body)
	}
	if says := page(t, w, prediction).words(); !strings.Contains(says, "by the firm's own outcomes") {
		t.Errorf("the prediction does not show it: %s", says)
	}
	if got := lines(); len(got) != 1 || !strings.Contains(got[0], "by the firm's own outcomes") || !strings.Contains(got[0], "from 8 measured jobs of this family") {
		t.Errorf("corrected: %q", got)
	}
	if r := post(t, w, "/outcomes-correction", map[string][]string{"on": {"false"}, "reason": {"not yet"}}); r.status != http.StatusSeeOther {
		t.Fatalf("switch off: %d", r.status)
	}
	if says := page(t, w, prediction).words(); strings.Contains(says, "firm's own outcomes") {
		t.Error("the prediction still shows it")
	}
	if got := lines(); len(got) != 0 {
		t.Errorf("corrected after it was switched off: %q", got)
	}
}

// A page after a change shows the change, and reads the other jobs no second time.
func TestOutcomesFollowTheRecord(t *testing.T) {
	w := lanternWorld(t)
	yearOfWalls(t, w, 6)
	w.As(pagestest.Maren, jobs.Supervisor)
	before, err := pages.FactsOf(t.Context(), w.Replica, pagestest.Company)
	if err != nil {
		t.Fatal(err)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, "018f0000-0000-7000-8000-0000000e0001", `{"do":"complaint","words":"steps","kind":"footsteps","received":"2026-11-20","surface":"W1"}`)
	s, err := pages.OutcomesOf(t.Context(), w.Replica, pagestest.Company)
	if err != nil {
		t.Fatal(err)
	}
	after, err := pages.FactsOf(t.Context(), w.Replica, pagestest.Company)
	if err != nil {
		t.Fatal(err)
	}
	if len(before) != len(after) || s.Complaints.Any.Events != 3 {
		t.Errorf("%d complaints, want 3", s.Complaints.Any.Events)
	}
	if r := send(t, w, httptest.NewRequest(http.MethodGet, "/outcomes", nil)); !strings.Contains(r.body, "3 of 6") && !strings.Contains(r.body, "3 of 5") {
		t.Errorf("the page does not know: %s", r.body)
	}
}

// What is kept of a job is made anew when as many entries count as before, but others: one was held and another admitted.
func TestOutcomesFollowWhatCounts(t *testing.T) {
	w := lanternWorld(t)
	footsteps := w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"complaint","words":"steps at night","kind":"footsteps","received":"2026-11-20"}`)[0]
	voices := w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"complaint","words":"every word","kind":"voices","received":"2026-11-21"}`)[0]
	complaints := func() map[string]int {
		t.Helper()
		s, err := pages.OutcomesOf(t.Context(), w.Replica, pagestest.Company)
		if err != nil {
			t.Fatal(err)
		}
		n := map[string]int{}
		for _, l := range s.Complaints.Noise {
			if l.Rate.Events > 0 {
				n[l.Noise] = l.Rate.Events
			}
		}
		return n
	}
	for _, step := range []struct {
		to   map[jobs.Hash]replica.State
		want string
	}{
		{map[jobs.Hash]replica.State{voices.Hash: replica.Held}, "map[footsteps:1]"},
		{map[jobs.Hash]replica.State{voices.Hash: replica.Standing, footsteps.Hash: replica.Held}, "map[voices:1]"},
		{map[jobs.Hash]replica.State{footsteps.Hash: replica.Standing}, "map[footsteps:1 voices:1]"},
	} {
		w.Move(step.to)
		if got := fmt.Sprint(complaints()); got != step.want {
			t.Errorf("complaints %s, want %s", got, step.want)
		}
	}
}

// Words that were erased are on no page any more, the next time one is asked for, although what was made of the job was kept.
func TestOutcomesForgetWhatWasErased(t *testing.T) {
	w := lanternWorld(t)
	yearOfWalls(t, w, 6)
	w.As(pagestest.Maren, jobs.Supervisor)
	const job, words = "018f0000-0000-7000-8000-0000000e0001", "Mrs Lindqvist hears every step"
	e := w.Record(pagestest.Maren, jobs.Supervisor, job, `{"do":"complaint","words":"`+words+`","kind":"footsteps","received":"2026-11-20","surface":"W1"}`)[0]
	says := func() (all string, events int) {
		t.Helper()
		for _, path := range []string{"/outcomes", "/outcomes/" + wallFamily, "/queue", "/jobs/" + job, "/jobs/" + job + "/handover", "/outcomes-jobs.csv"} {
			r := get(t, w, path)
			if r.status != http.StatusOK {
				t.Fatalf("%s: %d", path, r.status)
			}
			all += r.body
		}
		s, err := pages.OutcomesOf(t.Context(), w.Replica, pagestest.Company)
		if err != nil {
			t.Fatal(err)
		}
		return all, s.Complaints.Any.Events
	}
	all, before := says()
	if !strings.Contains(all, words) {
		t.Fatal("no page shows the words before they are erased")
	}
	w.Record(pagestest.Maren, jobs.Owner, job, `{"do":"erasure","of":["`+e.ID+`"],"reason":"asked"}`)
	all, after := says()
	if strings.Contains(all, "Lindqvist hears") || !strings.Contains(all, jobs.Erased) {
		t.Error("a page still shows the words, or not that they were erased")
	}
	if after != before {
		t.Errorf("%d complaints count, %d before: that there was one is not erased", after, before)
	}
}
