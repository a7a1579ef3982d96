package paper

import (
	"fmt"
	"strings"
)

// closing is what stands below the tables: what must be seen first, cautions, what the surface is meant to do, and who filled it in.
func (f *form) closing() {
	s := f.sheet
	seen := s.BeforeCover
	if len(seen) == 0 {
		seen = stopItems(s.Checks)
	}
	if len(seen) > 0 {
		f.block("Must be seen before it is covered", strings.Join(seen, ", "))
	}
	for i, c := range s.Cautions {
		title := ""
		if i == 0 {
			title = "Cautions"
		}
		f.block(title, c)
	}
	if target := join(" ", s.Target, s.Prediction); target != "" {
		f.block("Meant to reach", target)
	}
	if s.Note != "" {
		f.block("Note", s.Note)
	}
	f.signatures("filled in by", "date", "typed in by", "date")
}

// stopItems names the stop checks that have not passed.
func stopItems(checks []Check) []string {
	var out []string
	for _, c := range checks {
		if !c.Stop || c.State == "passed" {
			continue
		}
		name := c.Code
		if c.Layer > 0 {
			name += fmt.Sprintf(" (layer %d)", c.Layer)
		}
		out = append(out, name)
	}
	return out
}

// block is a title in the left column and wrapped words in the right one; it runs on to the next page line by line.
func (f *form) block(title, text string) {
	const left = 38.0
	heads := f.wrap("B", plainType, left-2, title)
	lines := f.wrap("", plainType, inner-left, text)
	f.need(float64(max(len(heads), min(len(lines), 4)))*leading(plainType) + 2)
	top := f.y + 1
	f.lines(margin, top, "B", plainType, heads)
	headEnd := top + float64(len(heads))*leading(plainType)
	f.y = top
	for _, l := range lines {
		if f.y+leading(plainType) > bottom {
			f.need(bottom)
			headEnd = f.y
		}
		f.y = f.lines(margin+left, f.y, "", plainType, []string{l})
	}
	f.y = max(f.y, headEnd) + 0.6
}
