package archive_test

import (
	"bytes"
	"encoding/csv"
	"regexp"
	"strings"
	"testing"
	"time"

	"tacet/sync/replica"
)

// Every date on the timeline stands in one form, and those of the table can be sorted.
func TestTimelineDates(t *testing.T) {
	c := content(t)
	c.Entries[len(c.Entries)-1].State = replica.Standing // the complaint counts here
	in := files(t, written(t, c))
	page := string(in["timeline.html"])
	for _, want := range []string{"Copied on " + c.Made.UTC().Format("2 Jan 2006, 15:04") + ".", "<td>2 Mar 2026, 08:04</td><td>2 Mar 2026, 08:04</td>",
		"<li>2 Mar 2026, 08:09, Maren Tolleby: withdrawn: wrong job (", "<li>2 Mar 2026, 08:10: measured", "<li>1 Jun 2026: “water at night”"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not on the timeline", want)
		}
	}
	if other := regexp.MustCompile(`\d{4}-\d{2}-\d{2}\b|\d:\d\d:\d\d`).FindString(page); other != "" {
		t.Errorf("%q is a date in another form", other)
	}
	rows, err := csv.NewReader(bytes.NewReader(in["timeline.csv"])).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		for _, cell := range row[1:3] {
			if _, err := time.Parse("2006-01-02 15:04:05", cell); err != nil {
				t.Errorf("the table has %q: %v", cell, err)
			}
		}
	}
}
