package pages_test

import (
	"regexp"
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
