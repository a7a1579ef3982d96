package pages

import (
	"strings"

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

// stopsWords names the open stop checks of a surface, layer by layer.
func stopsWords(stops []jobs.StopsOf) string {
	var all []*jobs.Check
	var parts []string
	for _, of := range stops {
		all = append(all, of.Checks...)
		where := "Whole surface: "
		if of.Layer > 0 {
			where = "Layer " + itoa(of.Layer) + ": "
		}
		parts = append(parts, sentence(where+jobs.CheckNames(of.Checks)))
	}
	return sentence(openWords(all, "stop check", "")) + " " + strings.Join(parts, " ")
}

// checkLines are checks as lines, each with where it is answered; those of several layers say of which.
func checkLines(j *jobs.Job, s *jobs.Surface, checks []*jobs.Check) []checkLine {
	var lines []checkLine
	for _, c := range checks {
		line := checkLineOf(j, s, c)
		if c.Layer != checks[0].Layer || c.Layer != checks[len(checks)-1].Layer {
			line.Title += onLayer(c.Layer)
		}
		lines = append(lines, line)
	}
	return lines
}
