package pages_test

import (
	"regexp"
	"strings"
	"testing"
)

var quoted = regexp.MustCompile(`“([^”]+)”`)

// What the guide quotes stands on a page, in these words; and each number has its equation, its source and where it is shown.
func TestGuideIsTrue(t *testing.T) {
	w := office(t)
	var words strings.Builder
	for _, path := range []string{"/", "/queue", "/waiting", lantern, c1, c1 + "/3/check/K23", lantern + "/s/W1", lantern + "/office", lantern + "/handover"} {
		words.WriteString(page(t, w, path).one(t, "body").words() + "\n")
	}
	guide := page(t, w, "/guide").one(t, "main")
	labels := quoted.FindAllStringSubmatch(guide.words(), -1)
	if len(labels) < 5 {
		t.Errorf("the guide quotes %d labels: too few to show anything", len(labels))
	}
	for _, l := range labels {
		if !strings.Contains(words.String(), l[1]) {
			t.Errorf("the guide quotes “%s”, which stands on no page", l[1])
		}
	}
	numbers := 0
	for _, d := range guide.all("section") {
		if d.attr["id"] != "numbers" {
			continue
		}
		for _, row := range d.one(t, "dl").all("div") {
			numbers++
			dds := row.all("dd")
			if len(dds) != 2 || dds[0].words() == "" || strings.HasPrefix(dds[1].words(), "Shown on") || strings.HasSuffix(dds[1].words(), "Shown on: .") {
				t.Errorf("%s has no equation, no source or no place", row.words())
			}
		}
	}
	if numbers == 0 {
		t.Error("the guide tells of no number")
	}
}
