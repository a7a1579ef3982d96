package pages_test

import (
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A pass with a value outside what its check accepts is asked about once, taken with a reason, and marked wherever it is read.
func TestAPassOutsideItsCriterion(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Idris, jobs.Site)
	const k19 = c1 + "/3/check/k19"
	if got := page(t, w, k19).one(t, "#f-measured-screw_mm-hint").words(); got != "The window is 25 to 37 mm." {
		t.Errorf("the page says of the screw: %q", got)
	}
	before := len(w.JobAs(pagestest.Job).Records)
	answer := url.Values{"result": {"pass"}, "measured.screw_mm": {"90"}, "measured.count": {"14"}, "over": {""}}
	doc := refused(t, post(t, w, k19, answer))
	want := "90 mm is outside 25 to 37 mm. Choose Failed, or say in the note why it passes."
	if got := doc.one(t, "#f-measured-screw_mm-error").words(); got != want {
		t.Errorf("the field says %q, want %q", got, want)
	}
	if n := len(w.JobAs(pagestest.Job).Records); n != before {
		t.Fatal("it was recorded all the same")
	}
	answer.Set("note", "long ones into the old joist, agreed")
	post(t, w, k19, answer).mustSee(t, c1)
	w.As(pagestest.Maren, jobs.Supervisor)
	for _, at := range []string{c1, c1 + "/3/answer", "/queue", k19, lantern + "/history"} {
		if got := page(t, w, at).words(); !strings.Contains(got, "90 mm, outside 25 to 37 mm") {
			t.Errorf("%s does not mark it: %s", at, got)
		}
	}
}

// A stop check that passes without the value it is judged by is asked about once too: an empty field is no way around the window.
func TestAPassWithoutItsValue(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Idris, jobs.Site)
	const k19 = c1 + "/3/check/k19"
	before := len(w.JobAs(pagestest.Job).Records)
	answer := url.Values{"result": {"pass"}, "measured.count": {"14"}, "over": {""}}
	doc := refused(t, post(t, w, k19, answer))
	if got := doc.one(t, "#f-measured-screw_mm-error").words(); got != "Write the screw length, or say in the note why it passes without." {
		t.Errorf("the field says %q", got)
	}
	if n := len(w.JobAs(pagestest.Job).Records); n != before {
		t.Fatal("it was recorded all the same")
	}
	answer.Set("note", "the box says 32, the rule is in the van")
	post(t, w, k19, answer).mustSee(t, c1)
	// What fails needs no value, nor does a check that stops nothing.
	post(t, w, k19, url.Values{"result": {"fail"}, "over": {""}}).mustSee(t, c1)
	post(t, w, c1+"/3/check/k20", url.Values{"result": {"pass"}}).mustSee(t, c1)
}

// What failed is not asked about, nor what lies on the end of the window.
func TestWhatIsNotOutside(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Idris, jobs.Site)
	for _, a := range []url.Values{{"result": {"fail"}, "measured.screw_mm": {"90"}}, {"result": {"pass"}, "measured.screw_mm": {"37"}}} {
		a.Set("over", "")
		post(t, w, c1+"/3/check/k19", a).mustSee(t, c1)
		j := w.JobAs(pagestest.Job)
		if says := j.Says(j.Records[len(j.Records)-1]); strings.Contains(says, "outside") || !strings.Contains(says, a.Get("measured.screw_mm")+" mm") {
			t.Errorf("it says %q", says)
		}
	}
}

// The criterion is the rule's own number where it has one, and of the kind of surface.
func TestTheCriterionIsSaidBesideTheValue(t *testing.T) {
	w := lanternWorld(t)
	for at, want := range map[string]string{
		lantern + "/s/W1/4/check/k28#gap_mm":     "The window is 3 to 5 mm.",
		lantern + "/s/W1/4/check/k19#screw_mm":   "The window is 57.5 to 94.5 mm.",
		lantern + "/s/W1/4/check/k20#spacing_mm": "At most 300 mm.",
		c1 + "/3/check/k20#spacing_mm":           "At most 230 mm.",
	} {
		path, field, _ := strings.Cut(at, "#")
		if got := page(t, w, path).one(t, "#f-measured-"+field+"-hint").words(); got != want {
			t.Errorf("%s: %q, want %q", at, got, want)
		}
	}
	if n := len(page(t, w, c1+"/3/check/k23").all("#f-measured-gap_mm-hint")); n != 0 {
		t.Error("a criterion is said where the rule has no number")
	}
}

// On the typed sheet the one note is the reason, and goes with the answer.
func TestATypedPassOutsideItsCriterion(t *testing.T) {
	w := lanternWorld(t)
	const typed = lantern + "/s/X1/typed"
	doc := page(t, w, typed)
	var value string
	for _, i := range doc.all("input") {
		if strings.HasPrefix(i.attr["name"], "measured.screw_mm.") {
			value = i.attr["name"]
		}
	}
	var result string
	for _, s := range doc.all("select") {
		if strings.HasSuffix(s.attr["name"], "K19") {
			result = s.attr["name"]
		}
	}
	form := url.Values{result: {"pass"}}
	if got := refused(t, post(t, w, typed, form)).one(t, ".errors").words(); !strings.Contains(got, "Write the screw length, or say in the note why it passes without.") {
		t.Errorf("without a length the sheet says %q", got)
	}
	form.Set(value, "200")
	if got := refused(t, post(t, w, typed, form)).one(t, ".errors").words(); !strings.Contains(got, "200 mm is outside") {
		t.Errorf("the sheet says %q", got)
	}
	form.Set("note", "measured by eye")
	post(t, w, typed, form).mustSee(t, lantern+"/s/X1")
	for _, c := range w.JobAs(pagestest.Job).Surface("X1").Checks {
		for _, h := range c.Heads {
			if c.Rule.Code == "K19" && h.Common().Note != "measured by eye" {
				t.Errorf("the answer carries the note %q", h.Common().Note)
			}
		}
	}
	if got := page(t, w, lantern+"/s/X1").words(); !strings.Contains(got, "200 mm, outside") {
		t.Errorf("the surface does not mark it: %s", got)
	}
}
