package drawing

import (
	"strings"
	"unicode"
)

// units are not torn from their number at the end of a line.
var units = map[string]bool{"mm": true, "m": true, "m²": true, "kg": true, "kg/m²": true, "kg/m³": true, "kN/m²": true, "dB": true, "Hz": true, "%": true}

// Unbroken are the pieces between which a line of the text may break: words, and numbers with their unit. A space that does not
// break stays one.
func Unbroken(text string) []string {
	var out []string
	breaks := func(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f' }
	for _, word := range strings.FieldsFunc(text, breaks) {
		if n := len(out); n > 0 && units[strings.Trim(word, ".,;:()")] && strings.ContainsAny(out[n-1][len(out[n-1])-1:], "0123456789") {
			out[n-1] += " " + word
			continue
		}
		out = append(out, word)
	}
	return out
}
