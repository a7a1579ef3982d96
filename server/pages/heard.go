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
			return v.name(r.By) + ", " + v.clock(r.Clk.Time()) + ": " + auditWords(d)
		case *jobs.Substitute:
			if d.State == jobs.Agreed || d.State == jobs.Refused {
				return fmt.Sprintf("Substitution on layer %d %s: %s", d.Layer, d.State, sentence(d.Reason))
			}
		}
	}
	return ""
}

func auditWords(d *jobs.Audit) string {
	says := map[jobs.AuditAnswer]string{jobs.AnswerCover: "layer %d may be covered", jobs.AnswerPutRight: "put layer %d right first", jobs.AnswerComing: "is coming to see layer %d"}[d.Answer]
	says = fmt.Sprintf(says, d.Layer)
	if d.Note != "" {
		return says + ". " + sentence(d.Note)
	}
	return says + "."
}
