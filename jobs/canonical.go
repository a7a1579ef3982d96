package jobs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"unicode/utf8"

	"tacet/acoustics"
)

// maxInteger is the largest integer that every JSON reader keeps exactly, 2^53 - 1.
const maxInteger = 1<<53 - 1

// Canonical writes v as the one byte string that stands for it: JSON of objects, arrays, strings, booleans, null and
// integers within ±(2^53-1); keys in ASCII, sorted; no spaces; UTF-8. Measured numbers travel as decimal strings, so
// no floating-point number is ever written. On this subset RFC 8785 leaves nothing open.
//
// v is made of map[string]any, []any, string, bool, nil, int, int64 and json.Number.
func Canonical(v any) ([]byte, error) {
	var b bytes.Buffer
	if err := writeCanonical(&b, v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func writeCanonical(b *bytes.Buffer, v any) error {
	switch v := v.(type) {
	case nil:
		b.WriteString("null")
	case bool:
		b.WriteString(strconv.FormatBool(v))
	case string:
		return writeString(b, v)
	case int:
		return writeInteger(b, int64(v))
	case int64:
		return writeInteger(b, v)
	case json.Number:
		n, err := strconv.ParseInt(string(v), 10, 64)
		if err != nil || strconv.FormatInt(n, 10) != string(v) {
			return fmt.Errorf("%s is not a plain integer; measured numbers are decimal strings", v)
		}
		return writeInteger(b, n)
	case []any:
		b.WriteByte('[')
		for i, e := range v {
			if i > 0 {
				b.WriteByte(',')
			}
			if err := writeCanonical(b, e); err != nil {
				return err
			}
		}
		b.WriteByte(']')
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		b.WriteByte('{')
		for i, k := range keys {
			if i > 0 {
				b.WriteByte(',')
			}
			for _, c := range []byte(k) {
				if c < 0x20 || c > 0x7e {
					return fmt.Errorf("key %q is not plain ASCII", k)
				}
			}
			if err := writeString(b, k); err != nil {
				return err
			}
			b.WriteByte(':')
			if err := writeCanonical(b, v[k]); err != nil {
				return err
			}
		}
		b.WriteByte('}')
	default:
		return fmt.Errorf("a %T has no canonical form", v)
	}
	return nil
}

func writeInteger(b *bytes.Buffer, n int64) error {
	if n > maxInteger || n < -maxInteger {
		return fmt.Errorf("integer %d is outside ±(2^53-1)", n)
	}
	b.WriteString(strconv.FormatInt(n, 10))
	return nil
}

func writeString(b *bytes.Buffer, s string) error {
	if !utf8.ValidString(s) {
		return fmt.Errorf("text is not valid UTF-8")
	}
	b.WriteByte('"')
	for _, r := range s {
		switch r {
		case '"', '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case '\b':
			b.WriteString(`\b`)
		case '\t':
			b.WriteString(`\t`)
		case '\n':
			b.WriteString(`\n`)
		case '\f':
			b.WriteString(`\f`)
		case '\r':
			b.WriteString(`\r`)
		default:
			if r < 0x20 {
				fmt.Fprintf(b, `\u%04x`, r)
			} else {
				b.WriteRune(r)
			}
		}
	}
	b.WriteByte('"')
	return nil
}

// parseTree reads JSON into maps, slices and json.Number, refusing anything behind the value.
func parseTree(data []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("something stands behind the value")
	}
	return v, nil
}

// CheckCanonical tells whether data is exactly the canonical form of what it says. It is asked once, when bytes first
// arrive; afterwards nobody serialises an entry again.
func CheckCanonical(data []byte) error {
	if plainlyCanonical(data) {
		return nil
	}
	return checkCanonical(data)
}

// checkCanonical writes the canonical form anew and compares.
func checkCanonical(data []byte) error {
	v, err := parseTree(data)
	if err != nil {
		return fmt.Errorf("not canonical: %w", err)
	}
	want, err := Canonical(v)
	if err != nil {
		return fmt.Errorf("not canonical: %w", err)
	}
	if !bytes.Equal(want, data) {
		return fmt.Errorf("not canonical: the bytes are not the one form of what they say")
	}
	return nil
}

// number parses a decimal string of a body. Bodies are checked when recorded, so a failure means foreign bytes.
func number(s string) (float64, error) {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(f, 0) || math.IsNaN(f) {
		return 0, &acoustics.InputError{Field: "number", Value: s, Hint: "give a decimal number"}
	}
	return f, nil
}
