package pages

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tacet/jobs"
)

// heardFor is how long the supervisor's newest answer stands on a surface's page while nobody on site has recorded anything since.
const heardFor = 3 * 24 * time.Hour

// heard is the newest answer of a supervisor on a surface that nothing of the site has followed yet, as one line; empty where there is none
// or the page's first sentence says it.
func (v *visit) heard(j *jobs.Job, s *jobs.Surface, a answer) string {
	for _, r := range slices.Backward(s.Work()) {
		if !j.InForce(r) {
			continue
		}
		if !r.Role.Specifies() || v.deps.Now().Sub(r.Clk.Time()) > heardFor {
			return ""
		}
		switch d := r.What.(type) {
		case *jobs.Audit:
			if d.Answer == jobs.AnswerPutRight && a.Trouble != nil && a.Layer == d.Layer && strings.Contains(a.Says, strings.TrimRight(d.Note, ".")) {
				return ""
			}
		case *jobs.Substitute:
			if d.State != jobs.Agreed && d.State != jobs.Refused {
				continue
			}
		default:
			continue
		}
		// A substitution says its reason itself.
		says := sentence(j.Says(r))
		if note := r.Common().Note; note != "" {
			says += " " + sentence(note)
		}
		return fmt.Sprintf("%s, %s, on layer %d: %s", v.name(r.By), v.clock(r.Clk.Time()), r.On.Layer, says)
	}
	return ""
}
