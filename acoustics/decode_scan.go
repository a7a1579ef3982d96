package acoustics

import (
	"encoding/json"
	"reflect"
	"strconv"
)

// What follows splits JSON that is known to be valid, and so needs no errors. Every entry of a record and every request passes
// here several times.

// members splits an object into its keys and values, in order, duplicates kept.
func members(raw json.RawMessage) (keys []string, values []json.RawMessage) {
	i := blank(raw, blank(raw, 0)+1)
	for i < len(raw) && raw[i] != '}' {
		end := skip(raw, i)
		keys = append(keys, unquote(raw[i:end]))
		i = blank(raw, blank(raw, end)+1) // behind the colon
		end = skip(raw, i)
		values = append(values, raw[i:end])
		i = comma(raw, end)
	}
	return keys, values
}

func elements(raw json.RawMessage) (values []json.RawMessage) {
	i := blank(raw, blank(raw, 0)+1)
	for i < len(raw) && raw[i] != ']' {
		end := skip(raw, i)
		values = append(values, raw[i:end])
		i = comma(raw, end)
	}
	return values
}

// blank returns the place of the next byte from i that is no white space.
func blank(raw []byte, i int) int {
	for i < len(raw) && (raw[i] == ' ' || raw[i] == '\n' || raw[i] == '\t' || raw[i] == '\r') {
		i++
	}
	return i
}

// comma goes over the comma behind a value, if there is one.
func comma(raw []byte, i int) int {
	if i = blank(raw, i); i < len(raw) && raw[i] == ',' {
		i = blank(raw, i+1)
	}
	return i
}

// skip returns the end of the value that begins at i.
func skip(raw []byte, i int) int {
	level, text := 0, false
	for ; i < len(raw); i++ {
		c := raw[i]
		if text {
			switch c {
			case '\\':
				i++
			case '"':
				if text = false; level == 0 {
					return i + 1
				}
			}
			continue
		}
		switch c {
		case '"':
			text = true
		case '{', '[':
			level++
		case '}', ']':
			if level == 0 {
				return i // of the object or list that a bare word or number ends
			}
			if level--; level == 0 {
				return i + 1
			}
		case ',', ':', ' ', '\n', '\t', '\r':
			if level == 0 {
				return i
			}
		}
	}
	return i
}

func unquote(raw []byte) string {
	for _, c := range raw {
		if c == '\\' {
			var s string
			if json.Unmarshal(raw, &s) == nil {
				return s
			}
		}
	}
	return string(raw[1 : len(raw)-1])
}

// scalar tells whether a value is a word or text, in which nothing can be badly formed.
func scalar(raw json.RawMessage) bool {
	switch first(raw) {
	case '"', 't', 'f', 'n':
		return true
	}
	return false
}

// repeated finds a key that stands twice.
func repeated(keys []string) (string, bool) {
	if len(keys) < 16 {
		for i, k := range keys {
			for _, before := range keys[:i] {
				if k == before {
					return k, true
				}
			}
		}
		return "", false
	}
	seen := make(map[string]bool, len(keys))
	for _, k := range keys {
		if seen[k] {
			return k, true
		}
		seen[k] = true
	}
	return "", false
}

// wholeNumber tells whether raw is an integer that fits t.
func wholeNumber(raw json.RawMessage, t reflect.Type) bool {
	i := blank(raw, 0)
	digits := string(raw[i:skip(raw, i)])
	var err error
	if k := t.Kind(); k >= reflect.Uint && k <= reflect.Uint64 {
		_, err = strconv.ParseUint(digits, 10, t.Bits())
	} else {
		_, err = strconv.ParseInt(digits, 10, t.Bits())
	}
	return err == nil
}
