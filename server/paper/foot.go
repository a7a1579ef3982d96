package paper

import (
	"fmt"
	"strings"
)

// closing is what stands below the tables: what must be seen first, cautions, what the surface is meant to do, and who filled it in. It is
// not torn apart where a page holds it: a signature stands with what was to be known when it was given.
func (f *form) closing() {
	s := f.sheet
	type part struct{ title, text string }
	var parts []part
	seen := s.BeforeCover
	if len(seen) == 0 {
		seen = stopItems(s.Checks)
	}
	if len(seen) > 0 {
		parts = append(parts, part{"Must be seen before it is covered", strings.Join(seen, ", ")})
	}
	for i, c := range s.Cautions {
		title := ""
		if i == 0 {
			title = "Cautions"
		}
		parts = append(parts, part{title, c})
	}
	if target := join(" ", s.Target, s.Prediction); target != "" {
		parts = append(parts, part{"Meant to reach", target})
	}
	if s.Note != "" {
		parts = append(parts, part{"Note", s.Note})
	}
	const notes = 2
	high := ruledHigh(notes) + signHigh
	for _, p := range parts {
		high += f.blockHigh(p.title, p.text)
	}
	if high <= fullPage {
		f.need(high)
	}
	for _, p := range parts {
		f.block(p.title, p.text)
	}
	f.need(ruledHigh(notes) + signHigh)
	f.ruled("written beside it; for a check that doesn't apply: why", notes)
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

// blockTitle is the column of a block's title, in mm.
const blockTitle = 38.0

func (f *form) blockLines(title, text string) (heads, lines []string) {
	return f.wrap("B", plainType, blockTitle-2, title), f.wrap("", plainType, inner-blockTitle, text)
}

// blockHigh is how much room a block takes.
func (f *form) blockHigh(title, text string) float64 {
	heads, lines := f.blockLines(title, text)
	return 1.6 + float64(max(len(heads), len(lines)))*leading(plainType)
}

// block is a title in the left column and wrapped words in the right one; it runs on to the next page line by line.
func (f *form) block(title, text string) {
	heads, lines := f.blockLines(title, text)
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
		f.y = f.lines(margin+blockTitle, f.y, "", plainType, []string{l})
	}
	f.y = max(f.y, headEnd) + 0.6
}
