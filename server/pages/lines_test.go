package pages_test

import (
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A line of a page ends where one on paper does: never between a number and what it belongs to. What people type comes back as they typed it.
func TestNumbersStayWithTheirWords(t *testing.T) {
	w := lanternWorld(t)
	if got := page(t, w, c1).one(t, "h1"); !strings.Contains(got.text, "layer\u00a03:") || !strings.Contains(got.text, " 1\u00a0check ") {
		t.Errorf("the answer is %q", got.text)
	}
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"note","text":"Layer 2 came on 10 Nov, (25 mm), of layers 2 and 3. Room 3 may follow"}`)
	const bound = "Layer\u00a02 came on 10\u00a0Nov, (25\u00a0mm), of layers\u00a02 and 3. Room 3 may follow"
	if got := get(t, w, lantern+"/history").body; !strings.Contains(got, bound) {
		t.Errorf("the history does not hold %q: %.1500s", bound, got)
	}
	const typed = "Seen on 10 Nov behind layer 2, 25 mm"
	again := post(t, w, c1+"/3/check/K23", url.Values{"note": {typed}})
	if got := parsePage(t, again.body).one(t, "textarea[name=note]").text; got != typed {
		t.Errorf("what was typed comes back as %q", got)
	}
}
