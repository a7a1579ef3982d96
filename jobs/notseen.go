package jobs

import "strings"

// NotSeenBySurface reads the lines of [Job.NotSeen], and those that a sign-off kept, as one line for each surface: what is listed is one kind of
// gap after another, each with the checks or layers that it is about.
func NotSeenBySurface(lines []string) []string {
	type gap struct {
		says string
		of   []string
	}
	var order []string
	gaps := map[string][]gap{}
	for _, line := range lines {
		place, rest, _ := strings.Cut(line, ": ")
		surface, layer, _ := strings.Cut(place, ", ")
		says, of := rest, layer
		if i := strings.LastIndex(rest, ": "); i >= 0 {
			code, title, _ := strings.Cut(rest[:i], " ")
			says, of = rest[i+2:], strings.TrimSpace(code+" "+Lower(title))
			if layer != "" {
				of += " of " + layer
			}
		} else if what, material, named := strings.Cut(says, " ("); named && layer != "" {
			says, of = what, layer+" ("+material
		}
		if gaps[surface] == nil {
			order = append(order, surface)
		}
		known := false
		for i := range gaps[surface] {
			if g := &gaps[surface][i]; g.says == says {
				g.of, known = append(g.of, of), true
			}
		}
		if !known {
			gaps[surface] = append(gaps[surface], gap{says, []string{of}})
		}
	}
	var out []string
	for _, surface := range order {
		var says []string
		for _, g := range gaps[surface] {
			if of := strings.Join(g.of, ", "); of != "" {
				g.says += ": " + of
			}
			says = append(says, g.says)
		}
		out = append(out, strings.TrimSuffix(surface+": "+strings.Join(says, "; "), ": "))
	}
	return out
}
