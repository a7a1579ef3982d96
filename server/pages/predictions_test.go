package pages_test

import (
	"regexp"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// The addresses of the curve are written as addresses are, at each width.
func TestCurveAddresses(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	plain := regexp.MustCompile(`^` + c1 + `/curve-(288|328|560|1000)\.svg\?v=[0-9]+$`)
	found := 0
	for _, attr := range []string{"src", "srcset"} {
		for _, n := range page(t, w, c1+"/prediction").all("[" + attr + "]") {
			if to := n.attr[attr]; regexp.MustCompile(`/curve-`).MatchString(to) {
				found++
				if !plain.MatchString(to) {
					t.Errorf("%s is the address of a curve", to)
				}
			}
		}
	}
	if found != 4 {
		t.Errorf("the curve is drawn at %d widths, want 4", found)
	}
}

// A table of predictions has no line and no column of dashes: where there is nothing in figures it says so.
func TestPredictionsWithoutDashes(t *testing.T) {
	w := office(t)
	x := page(t, w, lantern+"/s/X1/prediction").one(t, "main")
	if !strings.Contains(x.words(), "There is none in figures.") {
		t.Errorf("nothing says that there is no figure: %s", x.words())
	}
	for _, path := range []string{"/s/X1/prediction", "/s/W1/prediction", "/s/C1/prediction"} {
		for _, table := range page(t, w, lantern+path).all("table") {
			rows := table.all("tr")[1:]
			filled := map[int]bool{}
			for _, row := range rows {
				said := false
				for i, cell := range row.all("td") {
					if strings.TrimSpace(cell.words()) != "–" {
						filled[i], said = true, true
					}
				}
				if !said {
					t.Errorf("%s has a line of dashes: %s", path, row.words())
				}
			}
			for i := range len(rows[0].all("td")) {
				if !filled[i] {
					t.Errorf("%s has a column of dashes, number %d: %s", path, i+1, table.words())
				}
			}
		}
	}
	for _, head := range page(t, w, lantern+"/s/W1/prediction").all("table")[0].all("th") {
		if strings.Contains(head.words(), "L′nT,w") {
			t.Error("a wall has a column for impact sound")
		}
	}
}
