package pages

import (
	"tacet/jobs"
)

// Checks that are still open are counted in a sentence and named in words, never listed by their codes alone: who fits a layer knows the
// work, not the numbers of a list.

// openWords counts checks that are open; of is what they are of, with a blank before it, or nothing.
func openWords(checks []*jobs.Check, what, of string) string {
	are := " are open"
	if len(checks) == 1 {
		are = " is open"
	}
	return jobs.Count(len(checks), what) + of + are
}

const ofWhole = " of the whole surface"

// checkLines are checks as lines, each with where it is answered.
func checkLines(j *jobs.Job, s *jobs.Surface, checks []*jobs.Check) []checkLine {
	var lines []checkLine
	for _, c := range checks {
		lines = append(lines, checkLineOf(j, s, c))
	}
	return lines
}
