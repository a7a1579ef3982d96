package pages_test

import (
	"fmt"
	"strings"
	"testing"

	"tacet/jobs"
)

// The order is folded by group of material: each item stands in one group, whose line has the weight of all in it. What is
// heavy stands outside every fold.
func TestTakeOffIsFolded(t *testing.T) {
	w := office(t)
	main := page(t, w, lantern+"/take-off").one(t, "main")
	folded := map[string]int{}
	titles := map[string]string{}
	for _, d := range main.all("details") {
		title := d.one(t, "summary").words()
		group, _, _ := strings.Cut(title, ":")
		titles[strings.ToLower(group)] = strings.ReplaceAll(title, "\u202f", " ")
		if strings.Contains(title, "item by item") {
			continue
		}
		for _, row := range d.all("th") {
			folded[strings.ToLower(row.words())]++
		}
	}
	o := w.JobAs(lantern[len("/jobs/"):]).OrderOf(jobs.Firm{})
	kg := map[string]float64{}
	heavy := map[string]bool{}
	for _, i := range o.Items {
		if folded[strings.ToLower(i.Item)] != 1 {
			t.Errorf("%s stands in %d groups", i.Item, folded[strings.ToLower(i.Item)])
		}
		kg[i.Group] += i.Kg
	}
	for g, sum := range kg {
		if want := fmt.Sprintf("%.0f kg", sum); sum >= 1 && !strings.Contains(titles[g], want) {
			t.Errorf("the line of %s is %q, without %s", g, titles[g], want)
		}
	}
	for _, s := range o.Surfaces {
		for _, i := range s.TakeOff.Items {
			heavy[strings.ToLower(i.Item)] = heavy[strings.ToLower(i.Item)] || i.TwoPeople
		}
	}
	seen := map[string]string{}
	for _, li := range main.all("li") {
		if n := li.all("p"); len(n) > 1 && n[0].attr["class"] == "name" {
			seen[strings.ToLower(n[0].words())] = n[1].words()
		}
	}
	for item, is := range heavy {
		if is && !strings.Contains(seen[item], "Two people or an aid.") {
			t.Errorf("%s needs two people, and the page says %q", item, seen[item])
		}
	}
	if s := main.words(); strings.Contains(s, "pieces to a stack") || strings.Contains(s, "Nothing yet.") {
		t.Errorf("the page stacks pieces, or says that there is nothing: %s", s)
	}
	if len(kg) < 3 || len(heavy) == 0 {
		t.Errorf("%d groups, %d items to carry: too few to show anything", len(kg), len(heavy))
	}
}
