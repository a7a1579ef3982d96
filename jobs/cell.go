package jobs

import "strings"

// Cell is a text as it may stand in a table that a spreadsheet opens: what it would take for a formula gets an apostrophe in front.
func Cell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n", rune(s[0])) {
		return "'" + s
	}
	return s
}
