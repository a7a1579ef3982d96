package pages_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// refused is the page of a form that has to be corrected: 422, the same words on top and beside the field, and in the title.
func refused(t *testing.T, r reply) *node {
	t.Helper()
	if r.status != http.StatusUnprocessableEntity {
		t.Fatalf("answered %d\n%s", r.status, r.body)
	}
	doc := parsePage(t, r.body)
	checkMarkup(t, "a form to correct", doc)
	if !strings.HasPrefix(doc.one(t, "title").words(), "To correct: ") {
		t.Errorf("the title says %q", doc.one(t, "title").words())
	}
	summary := doc.one(t, ".errors")
	if _, ok := summary.attr["autofocus"]; !ok {
		t.Error("the summary does not take the focus")
	}
	var beside []string
	for _, n := range doc.all(".error") {
		beside = append(beside, n.words())
	}
	for _, n := range summary.all("a") {
		if n.attr["href"] != "#form" && !slices.Contains(beside, n.words()) {
			t.Errorf("%q stands on top and not beside a field: %q", n.words(), beside)
		}
	}
	return doc
}

func TestWhatHasToBeCorrected(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	fails := w.JobAs(pagestest.Job).Surface("F1").Check("K32", 1).Heads[0].ID
	for _, c := range []struct {
		path  string
		form  url.Values
		field string
		says  string // part of it
	}{
		{c1 + "/4/install", url.Values{"note": {"told to"}}, "f-share", "Fill in: share of the area in place now."},
		{c1 + "/4/install", url.Values{"share": {"a lot"}}, "f-share", "write a number only"},
		{c1 + "/4/install", url.Values{"share": {"100"}, "mass_kg_m2": {"12,5"}}, "f-mass_kg_m2", "write 12.5 with a point"},
		{c1 + "/4/install", url.Values{"share": {"100"}, "mass_kg_m2": {"9000"}, "note": {"told to"}}, "f-mass_kg_m2", "kg/m²"},
		{c1 + "/4/install", url.Values{"share": {"100"}, "at": {"yesterday"}, "note": {"told to"}}, "f-at", "Write date and time as 2026-11-25 14:05."},
		{c1 + "/4/install", url.Values{"share": {"100"}}, "f-note", "Say why it goes on all the same."},
		{c1 + "/3/check/K23", url.Values{"note": {"x"}}, "f-result-0", "Fill in: result."},
		{c1 + "/3/check/K23", url.Values{"result": {"not_applicable"}}, "f-note", "Say why K23 does not apply."},
		{c1 + "/3/check/K23", url.Values{"result": {"fail"}, "measured.gap_mm": {"900"}}, "f-measured-gap_mm", "Width of the gap must be 0 to 100 mm."},
		{c1 + "/3/ready", url.Values{"day": {"2026-11-25"}, "cover_at": {"half past four"}}, "f-cover_at", "Write the time as 16:30"},
		{c1 + "/5/substitute", url.Values{"state": {"asked"}, "layer_new.thickness_mm": {"15"}, "layer_new.mass_kg_m2": {"9.8"}}, "f-reason", "Fill in: reason."},
		{c1 + "/3/answer", url.Values{"answer": {"put_right"}}, "f-note", "Say what is to be put right."},
		{c1 + "/3/answer", url.Values{"answer": {"cover"}}, "f-note", "Say why it may be covered as it is."},
		{lantern + "/s/W1/4/cover", url.Values{}, "f-note", "Say why it is covered all the same."},
		{c1 + "/3/release", url.Values{"checks": {"K23"}}, "f-note", "Say why they are released."},
		{c1 + "/3/answer", url.Values{}, "f-answer-0", "Fill in: your answer."},
		{c1 + "/3/release", url.Values{}, "f-checks", "Tick the checks that you release."},
		{lantern + "/s/F1/right/" + fails, url.Values{"hours": {"1"}}, "f-cause-0", "Fill in: why it was wrong."},
		{c1 + "/caution/fire", url.Values{"answer": {"30 minutes"}}, "f-decided_by", "Fill in: decided by."},
		{lantern + "/note", url.Values{}, "f-text", "Fill in: note."},
		{lantern + "/withdraw/" + fails, url.Values{}, "f-reason", "Fill in: reason."},
	} {
		before := len(w.JobAs(pagestest.Job).Records)
		doc := refused(t, post(t, w, c.path, c.form))
		link := doc.one(t, ".errors").all("a")[0]
		if link.attr["href"] != "#"+c.field || !strings.Contains(link.words(), c.says) {
			t.Errorf("%s %v: %q leads to %s, want %q at #%s", c.path, c.form, link.words(), link.attr["href"], c.says, c.field)
		}
		for _, word := range []string{"invalid", "Error", "failed to"} {
			if strings.Contains(link.words(), word) {
				t.Errorf("%q does not say what to do", link.words())
			}
		}
		if after := len(w.JobAs(pagestest.Job).Records); after != before {
			t.Errorf("%s %v: %d entries were recorded", c.path, c.form, after-before)
		}
	}
}

// Forms of other sites are refused, on this machine too.
func TestForeignForms(t *testing.T) {
	w := lanternWorld(t)
	before := len(w.JobAs(pagestest.Job).Records)
	for _, h := range []map[string]string{{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://elsewhere.example.net"}, {"Origin": "null"}} {
		req := httptest.NewRequest(http.MethodPost, c1+"/note", strings.NewReader("text=hello"))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for k, v := range h {
			req.Header.Set(k, v)
		}
		if got := send(t, w, req).status; got != http.StatusForbidden {
			t.Errorf("%v: %d", h, got)
		}
	}
	if after := len(w.JobAs(pagestest.Job).Records); after != before {
		t.Errorf("%d entries were recorded", after-before)
	}
}
