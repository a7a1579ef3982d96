package pages

import "strings"

// frame is what stands round every page.
type frame struct {
	Title   string // of the window
	Program Program
	Person  string
}

func (v *visit) frame(title string) frame {
	return frame{Title: title, Program: v.deps.Program, Person: v.who.Name}
}

// sentence starts with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	s = strings.ToUpper(s[:1]) + s[1:]
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") || strings.HasSuffix(s, "!") {
		return s
	}
	return s + "."
}
