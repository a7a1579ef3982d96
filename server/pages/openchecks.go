package pages

import (
	"slices"
	"strings"

	"tacet/jobs"
)

// Checks that are still open are counted in a sentence and named in words, never listed by their codes alone: who fits a layer knows the
// work, not the numbers of a list.

// byStanding parts checks that are open into those that failed, those that are disputed and the rest; what is empty is left out.
func byStanding(checks []*jobs.Check) (groups [][]*jobs.Check) {
	parts := make([][]*jobs.Check, 3)
	for _, c := range checks {
		i := 2
		switch c.State {
		case jobs.CheckFailed:
			i = 0
		case jobs.CheckDisputed:
			i = 1
		}
		parts[i] = append(parts[i], c)
	}
	return slices.DeleteFunc(parts, func(g []*jobs.Check) bool { return len(g) == 0 })
}

// openOf are open checks, and what they are of: with a blank before it, or nothing.
type openOf struct {
	Checks []*jobs.Check
	Of     string
}

// openWords counts checks that are open, group by group, and says of those that failed or are disputed that they are.
func openWords(what string, groups ...openOf) string {
	var says []string
	for _, of := range groups {
		var parts []string
		for _, g := range byStanding(of.Checks) {
			n := itoa(len(g))
			if len(says) == 0 && len(parts) == 0 {
				n = jobs.Count(len(g), what)
			}
			if len(parts) == 0 {
				n += of.Of
			}
			parts = append(parts, n+" "+standsWords(g))
		}
		if len(parts) > 0 {
			says = append(says, strings.Join(parts, ", "))
		}
	}
	return strings.Join(says, "; ")
}

// standsWords is the verb for checks that stand alike.
func standsWords(checks []*jobs.Check) string {
	switch checks[0].State {
	case jobs.CheckFailed:
		return "failed"
	case jobs.CheckDisputed:
		return are(len(checks)) + " disputed"
	}
	return are(len(checks)) + " open"
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
	return sentence(openWords("stop check", openOf{Checks: all})) + " " + strings.Join(parts, " ")
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
