package jobs

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tacet/acoustics"
)

// Ranges of what people record. Each is declared once, for the rule, the form and the published description.
var (
	ShareRange    = acoustics.Range{Min: 0, Max: 1, Above: true}
	MassRange     = acoustics.Range{Min: 0, Max: 3000, Unit: "kg/m²"}
	SizeRange     = acoustics.Range{Min: 0, Max: 1000, Above: true, Unit: "m"}
	VolumeRange   = acoustics.Range{Min: 0, Max: 100000, Above: true, Unit: "m³"}
	LoadRange     = acoustics.Range{Min: 0, Max: 100, Above: true, Unit: "kN/m²"}
	DepthRange    = acoustics.Range{Min: 0, Max: 2000, Above: true, Unit: "mm"}
	QuantityRange = acoustics.Range{Min: 0, Max: 1e6, Above: true}
	HoursRange    = acoustics.Range{Min: 0, Max: 10000, Unit: "h"}
	CostRange     = acoustics.Range{Min: -1e7, Max: 1e7}
	LevelRange    = acoustics.Range{Min: -20, Max: 160, Unit: "dB"}
)

func itoa(n int) string { return strconv.Itoa(n) }

// text checks the length of a text in characters; a least length of 1 makes it required.
func text(field, s string, least, most int) error {
	n := utf8.RuneCountInString(s)
	if strings.TrimSpace(s) == "" && least > 0 {
		return &InputError{Field: field, Value: "missing", Range: fmt.Sprintf("%d to %d characters", least, most)}
	}
	if n > most {
		return &InputError{Field: field, Value: fmt.Sprintf("%d characters long", n), Range: fmt.Sprintf("at most %d characters", most)}
	}
	for _, r := range s {
		if unicode.IsControl(r) && r != '\n' && r != '\t' && r != '\r' {
			return &InputError{Field: field, Value: strconv.QuoteRune(r), Hint: "leave out control characters"}
		}
	}
	return nil
}

// code checks the code of a surface, room or structure: what fits on a sheet and is read out over a phone.
func code(field, s string) error {
	ok := s != "" && len(s) <= 12
	for _, c := range []byte(s) {
		ok = ok && (c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-' || c == '.' || c == '_')
	}
	if !ok {
		return &InputError{Field: field, Value: orMissing(s), Range: "1 to 12 letters, digits, - . or _"}
	}
	return nil
}

func choice[T ~string](field string, v T, allowed ...T) error {
	if slices.Contains(allowed, v) {
		return nil
	}
	names := make([]string, len(allowed))
	for i, a := range allowed {
		names[i] = string(a)
	}
	return &InputError{Field: field, Value: orMissing(string(v)), Range: "one of " + strings.Join(names, ", ")}
}

func orMissing(s string) string {
	if s == "" {
		return "missing"
	}
	return s
}

func timestamp(field, s string) error {
	if s == "" {
		return nil
	}
	if _, err := time.Parse(time.RFC3339, s); err != nil {
		return &InputError{Field: field, Value: s, Range: "date and time with zone, such as 2026-11-25T14:05:00Z"}
	}
	return nil
}

func optional(r acoustics.Range, field string, v *float64) error {
	if v == nil {
		return nil
	}
	return r.Check(field, *v)
}

func needed(r acoustics.Range, field string, v *float64) error {
	if v == nil {
		return &InputError{Field: field, Value: "missing", Range: r.String()}
	}
	return r.Check(field, *v)
}

// wholeNumber checks a whole number that may be left out as 0.
func wholeNumber(field string, n, least, most int) error {
	if n != 0 && (n < least || n > most) {
		return &InputError{Field: field, Value: itoa(n), Range: itoa(least) + " to " + itoa(most)}
	}
	return nil
}

// farLayer is the highest layer number that the form of a record has ever let in. It stays, though no list is that long:
// what is recorded must be read for good. Whether the layer is there, Fits tells.
const farLayer = 60

func layerNumber(n int) error {
	if n < 1 || n > farLayer {
		return &InputError{Field: "layer", Value: itoa(n), Range: "1 to " + itoa(maxLayers)}
	}
	return nil
}

func evidenceRange(field string, n int) error {
	if n < 0 || n > 5 {
		return &InputError{Field: field, Value: itoa(n), Range: "0 to 5"}
	}
	return nil
}
