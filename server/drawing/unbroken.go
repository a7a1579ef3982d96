package drawing

import (
	"strings"
	"unicode"
)

// follows are words that stay on the line of the number before them: units, and months behind their day.
var follows = wordSet("mm m m² m³ kg kg/m² kg/m³ kN kN/m² MN/m³ dB Hz % h min check checks Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec")

// leads are words that stay on the line of the number behind them.
var leads = wordSet("layer layers Layer Layers target limit screw Screw Rw Ctr DnT,w L′nT,w")

func wordSet(words string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(words) {
		set[w] = true
	}
	return set
}

const digits = "0123456789"

// stay tells whether no line may end between two words: one is a number, and the other says of what.
func stay(before, after string) bool {
	if before == "" || after == "" {
		return false
	}
	const around = ".,;:()"
	return leads[strings.Trim(before, around)] && strings.IndexByte(digits, after[0]) >= 0 ||
		follows[strings.Trim(after, around)] && strings.IndexByte(digits, before[len(before)-1]) >= 0
}

// breaks tells whether a line may end at this character. A space that does not break stays one.
func breaks(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f' }

// Unbroken are the pieces between which a line of the text may break: words, and numbers with what they belong to.
func Unbroken(text string) []string {
	var out []string
	last := ""
	for _, word := range strings.FieldsFunc(text, breaks) {
		if stay(last, word) {
			out[len(out)-1] += " " + word
		} else {
			out = append(out, word)
		}
		last = word
	}
	return out
}

// Bind writes the spaces within the pieces of Unbroken as such that do not break, and leaves all else: a browser then ends its lines where
// the drawings and papers do.
func Bind(text string) string {
	if !strings.ContainsAny(text, digits) { // most of what stands on a page
		return text
	}
	var b strings.Builder
	word := ""
	for rest := text; rest != ""; {
		gap := len(rest) - len(strings.TrimLeftFunc(rest, breaks))
		next := rest[gap:]
		if end := strings.IndexFunc(next, breaks); end >= 0 {
			next = next[:end]
		}
		if between := rest[:gap]; between == " " && stay(word, next) {
			b.WriteRune('\u00a0')
		} else {
			b.WriteString(between)
		}
		b.WriteString(next)
		word, rest = next, rest[gap+len(next):]
	}
	return b.String()
}
