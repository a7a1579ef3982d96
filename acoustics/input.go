package acoustics

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// InputError says what is wrong with something a person gave: where (Field, a path such as layers[2].thickness_mm), what it is (Value),
// what is allowed (Range, Unit) and, where it helps, what to do (Hint). It is the one type for bad input in the whole program.
type InputError struct {
	Field string
	Value string
	Range string
	Unit  string
	Hint  string
}

// maxLine is how much a complaint repeats: what is complained about may be anybody's, and of any length.
const maxLine = 500

// Error is one plain line: "thickness_mm is -3; give 0.1 to 1000 mm". It is printed and kept where control characters do harm or are refused.
func (e *InputError) Error() string {
	var b strings.Builder
	b.WriteString(cmp.Or(e.Field, "input"))
	b.WriteString(" is ")
	b.WriteString(cmp.Or(e.Value, "missing"))
	if e.Range != "" {
		b.WriteString("; give ")
		b.WriteString(e.Range)
		if e.Unit != "" {
			b.WriteString(" " + e.Unit)
		}
	}
	if e.Hint != "" {
		b.WriteString("; " + e.Hint)
	}
	line := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && !unicode.IsSpace(r) {
			return utf8.RuneError
		}
		return r
	}, b.String())
	return shortenTo(maxLine, strings.Join(strings.Fields(line), " "))
}

// At returns the same complaint with path in front of its field.
func (e *InputError) At(path string) *InputError {
	moved := *e
	moved.Field = join(path, e.Field)
	return &moved
}

// Range is the span a number may lie in. Above excludes Min itself; an infinite Max means no upper limit.
type Range struct {
	Min, Max float64
	Above    bool
	Unit     string
}

// Check returns nil when v lies in the range and an [InputError] for field otherwise. NaN and infinities are always refused.
func (r Range) Check(field string, v float64) error {
	ok := !math.IsNaN(v) && !math.IsInf(v, 0) && v >= r.Min && v <= r.Max && (!r.Above || v > r.Min)
	if ok {
		return nil
	}
	return &InputError{Field: field, Value: number(v), Range: r.span(), Unit: r.Unit}
}

// String writes the range with its unit: "0.1 to 1000 mm".
func (r Range) String() string {
	return strings.TrimSpace(r.span() + " " + r.Unit)
}

func (r Range) span() string {
	if math.IsInf(r.Max, 1) {
		if r.Above {
			return "above " + number(r.Min)
		}
		return number(r.Min) + " or more"
	}
	if r.Above {
		return "above " + number(r.Min) + ", up to " + number(r.Max)
	}
	return number(r.Min) + " to " + number(r.Max)
}

// checkOptional checks a value that may be left out.
func (r Range) checkOptional(field string, v *float64) error {
	if v == nil {
		return nil
	}
	return r.Check(field, *v)
}

// number prints a float as a person would write it.
func number(v float64) string {
	return strconv.FormatFloat(v, 'g', 6, 64)
}

// join puts a path before a field: "layers[2]" and "depth_mm" make "layers[2].depth_mm".
func join(path, field string) string {
	switch {
	case path == "":
		return field
	case field == "":
		return path
	case strings.HasPrefix(field, "["):
		return path + field
	}
	return path + "." + field
}

func indexed(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }

// oneOf refuses a word that is not in the list.
func oneOf(field, value string, allowed ...string) error {
	for _, a := range allowed {
		if value == a {
			return nil
		}
	}
	given := "missing"
	if value != "" {
		given = strconv.Quote(shorten(value))
	}
	return &InputError{Field: field, Value: given, Range: "one of " + strings.Join(allowed, ", ")}
}

func shorten(s string) string { return shortenTo(60, s) }

func shortenTo(limit int, s string) string {
	if runes := []rune(s); len(runes) > limit {
		return string(runes[:limit]) + "..."
	}
	return s
}
