package accounts

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Passwords that guessers try first are refused. No list of leaked ones is copied; the patterns that fill such lists are: words that
// everybody thinks of, dressed up with digits, years and signs; runs along the keyboard or the alphabet; one piece again and again.

// commonWords are the words that our own list is made from, by hand.
var commonWords = strings.Fields(`
	password passwort passwd passphrase pass word secret letmein welcome login logon signin admin administrator root user guest test testing
	default changeme change access master qwerty qwertz azerty iloveyou love lovely sunshine princess dragon monkey football baseball
	soccer hockey shadow hello hallo freedom whatever trust
	summer winter spring autumn january february march april may june july august september october november december monday tuesday
	wednesday thursday friday saturday sunday london england britain scotland wales ireland manchester
	computer internet server company office business site builder building construction contractor plaster plasterboard drywall insulation
	acoustic sound silence quiet tacet ceiling wall floor abc the my me is one two three new old your our please temp temporary system
	security secure letme in let open sesame money cheese chocolate coffee orange banana apple flower butterfly pepper ginger cookie
	killer hunter home`)

// lines are what fingers or heads run along.
var lines = []string{"abcdefghijklmnopqrstuvwxyz", "01234567890123456789", "qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "yxcvbnm", "azertyuiop", "qazwsxedcrfvtgbyhnujmikolp", "1q2w3e4r5t6y7u8i9o0p", "1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik"}

var leet = strings.NewReplacer("0", "o", "1", "l", "3", "e", "4", "a", "5", "s", "7", "t", "@", "a", "$", "s", "!", "i", "|", "l")

// LongPassword is the length from which several words make no password weak: only one word, one piece again and again, or a run, does.
const LongPassword = 15

// common tells whether a guesser would try the password early. Words are own to the place: the login, the firm.
func common(password string, words ...string) bool {
	low := strings.ToLower(password)
	if repeats(low) || runsOnly(low) {
		return true
	}
	// Three words of a list that everybody shares are no phrase of one's own; in a long one it takes more to say so.
	most := 3
	if utf8.RuneCountInString(password) >= LongPassword {
		most = 1
	}
	own := slices.Clone(commonWords)
	for _, w := range words {
		for part := range strings.FieldsFuncSeq(strings.ToLower(w), func(r rune) bool { return !unicode.IsLetter(r) }) {
			if len(part) > 2 {
				own = append(own, part)
			}
		}
	}
	// Digits and signs between them add next to nothing.
	bare := strings.TrimFunc(low, func(r rune) bool { return !unicode.IsLetter(r) })
	for _, s := range []string{low, leet.Replace(low), leet.Replace(bare)} {
		letters := strings.Map(func(r rune) rune {
			if unicode.IsLetter(r) {
				return r
			}
			return -1
		}, s)
		if len([]rune(letters)) < 4 || madeOf(letters, own, most) || runsOnly(letters) {
			return true
		}
	}
	return false
}

// madeOf tells whether s is at most n words in a row.
func madeOf(s string, words []string, n int) bool {
	if s == "" {
		return true
	}
	if n == 0 {
		return false
	}
	for _, w := range words {
		if rest, ok := strings.CutPrefix(s, w); ok && madeOf(rest, words, n-1) {
			return true
		}
	}
	return false
}

// repeats tells whether s is one piece again and again, the last time perhaps not whole.
func repeats(s string) bool {
	r := []rune(s)
	for n := 1; n <= len(r)*2/3; n++ {
		same := true
		for i := n; i < len(r) && same; i++ {
			same = r[i] == r[i-n]
		}
		if same {
			return true
		}
	}
	return false
}

// runsOnly tells whether s is cut wholly from the lines, forwards or backwards, in pieces of at least four.
func runsOnly(s string) bool {
	for s != "" {
		best := 0
		for _, l := range lines {
			for _, line := range []string{l, backwards(l)} {
				for n := min(len(s), len(line)); n > best && n >= 4; n-- {
					if strings.Contains(line, s[:n]) {
						best = n
						break
					}
				}
			}
		}
		if best == 0 {
			return false
		}
		s = s[best:]
	}
	return true
}

func backwards(s string) string {
	r := []rune(s)
	slices.Reverse(r)
	return string(r)
}
