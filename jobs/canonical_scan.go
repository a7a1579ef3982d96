package jobs

import (
	"bytes"
	"unicode/utf8"
)

// plainlyCanonical tells in one pass that data is the canonical form of what it says. False means that it may still be: the
// few forms left out here (escapes in keys, deep nesting) are left to the long way, as is saying what is wrong.
func plainlyCanonical(data []byte) bool {
	if !utf8.Valid(data) {
		return false
	}
	end, ok := scanCanonical(data, 0, 0)
	return ok && end == len(data)
}

// scanCanonical goes over the value at i and returns its end.
func scanCanonical(data []byte, i, depth int) (int, bool) {
	if i >= len(data) || depth > 32 {
		return i, false
	}
	switch data[i] {
	case '{':
		return scanObject(data, i+1, depth)
	case '[':
		return scanList(data, i+1, depth)
	case '"':
		return scanString(data, i+1)
	case 't':
		return scanWord(data, i, "true")
	case 'f':
		return scanWord(data, i, "false")
	case 'n':
		return scanWord(data, i, "null")
	}
	return scanInteger(data, i)
}

func scanObject(data []byte, i, depth int) (int, bool) {
	if i < len(data) && data[i] == '}' {
		return i + 1, true
	}
	var before []byte
	for n := 0; i < len(data) && data[i] == '"'; n++ {
		end, ok := scanString(data, i+1)
		if !ok {
			return i, false
		}
		key := data[i+1 : end-1]
		for _, c := range key {
			if c > 0x7e || c == '\\' {
				return i, false
			}
		}
		if n > 0 && bytes.Compare(before, key) >= 0 || end >= len(data) || data[end] != ':' {
			return i, false
		}
		before = key
		if i, ok = scanCanonical(data, end+1, depth+1); !ok || i >= len(data) {
			return i, false
		}
		switch data[i] {
		case '}':
			return i + 1, true
		case ',':
			i++
		default:
			return i, false
		}
	}
	return i, false
}

func scanList(data []byte, i, depth int) (int, bool) {
	if i < len(data) && data[i] == ']' {
		return i + 1, true
	}
	for {
		var ok bool
		if i, ok = scanCanonical(data, i, depth+1); !ok || i >= len(data) {
			return i, false
		}
		switch data[i] {
		case ']':
			return i + 1, true
		case ',':
			i++
		default:
			return i, false
		}
	}
}

// scanString goes to the end of a text whose opening quote stands before i.
func scanString(data []byte, i int) (int, bool) {
	for i < len(data) {
		switch c := data[i]; {
		case c == '"':
			return i + 1, true
		case c < 0x20:
			return i, false
		case c == '\\':
			if i+1 >= len(data) {
				return i, false
			}
			switch data[i+1] {
			case '"', '\\', 'b', 't', 'n', 'f', 'r':
				i += 2
			default:
				return i, false
			}
		default:
			i++
		}
	}
	return i, false
}

func scanWord(data []byte, i int, word string) (int, bool) {
	return i + len(word), bytes.HasPrefix(data[i:], []byte(word))
}

func scanInteger(data []byte, i int) (int, bool) {
	start, n := i, int64(0)
	if data[i] == '-' {
		i++
	}
	first := i
	for i < len(data) && data[i] >= '0' && data[i] <= '9' {
		if n = n*10 + int64(data[i]-'0'); n > maxInteger {
			return i, false
		}
		i++
	}
	digits := i - first
	if digits == 0 || data[first] == '0' && (digits > 1 || first > start) {
		return i, false
	}
	return i, true
}
