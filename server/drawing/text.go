package drawing

import (
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// slack widens every measured word: a browser sets the drawing in its own system font, which is not the one measured here.
const slack = 1.17

// advances holds the width of each common letter in parts of its size, read once from the font that paper uses.
var advances = sync.OnceValue(func() map[rune]float64 {
	table := map[rune]float64{}
	face, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return table // letterWidth then answers for every letter
	}
	const em = 1000
	var buf sfnt.Buffer
	add := func(r rune) {
		glyph, err := face.GlyphIndex(&buf, r)
		if err != nil || glyph == 0 {
			return
		}
		if a, err := face.GlyphAdvance(&buf, glyph, fixed.I(em), font.HintingNone); err == nil {
			table[r] = float64(a) / 64 / em
		}
	}
	for r := rune(0x20); r < 0x250; r++ {
		add(r)
	}
	for _, r := range "–—‘’“”…′″·×±≤≥²³ΔΩ" {
		add(r)
	}
	return table
})

func letterWidth(r rune) float64 {
	if w, ok := advances()[r]; ok {
		return w
	}
	if r >= 0x1100 {
		return 1 // full-width scripts
	}
	return 0.7
}

// textWidth is how wide the words are at the given size, on the generous side.
func textWidth(text string, size float64, bold bool) float64 {
	sum := 0.0
	for _, r := range text {
		sum += letterWidth(r)
	}
	if bold {
		sum *= 1.07
	}
	return sum * size * slack
}

// wrap breaks the text into lines no wider than width; a word that is wider by itself is cut, never dropped.
func wrap(text string, size, width float64) []string {
	var lines []string
	line := ""
	for _, word := range Unbroken(text) {
		candidate := word
		if line != "" {
			candidate = line + " " + word
		}
		if textWidth(candidate, size, false) <= width {
			line = candidate
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for textWidth(word, size, false) > width {
			head := headThatFits(word, size, width)
			lines = append(lines, head)
			word = word[len(head):]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// headThatFits is the longest beginning of the word that is no wider than width, at least one letter.
func headThatFits(word string, size, width float64) string {
	sum, end := 0.0, 0
	for i, r := range word {
		sum += letterWidth(r) * size * slack
		if sum > width && i > 0 {
			return word[:i]
		}
		end = i + len(string(r))
	}
	return word[:end]
}

// shorten cuts the text to the width and says so with an ellipsis.
func shorten(text string, size, width float64) string {
	if textWidth(text, size, false) <= width {
		return text
	}
	head := headThatFits(text, size, width-textWidth("…", size, false))
	return strings.TrimRight(head, " ,.") + "…"
}
