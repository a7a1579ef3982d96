package jobs

import (
	"encoding/json"
	"unicode/utf8"
)

// readTree is parseTree for bytes that are nearly always canonical: those are read in one pass, and their texts are pieces of one
// copy. Whatever is written in another way is left to the long way.
func readTree(data []byte) (any, error) {
	if utf8.Valid(data) {
		s := treeScan{data: data, text: string(data)}
		if v, ok := s.value(0); ok && s.i == len(data) {
			return v, nil
		}
	}
	return parseTree(data)
}

// treeScan is how far a tree is read.
type treeScan struct {
	data []byte
	text string // the same
	i    int
}

func (s *treeScan) value(depth int) (any, bool) {
	if s.i >= len(s.data) || depth > 32 {
		return nil, false
	}
	switch c := s.data[s.i]; c {
	case '{':
		return s.object(depth)
	case '[':
		return s.list(depth)
	case '"':
		return s.string()
	case 't':
		return true, s.word("true")
	case 'f':
		return false, s.word("false")
	case 'n':
		return nil, s.word("null")
	}
	end, ok := scanInteger(s.data, s.i)
	n := json.Number(s.text[s.i:end])
	s.i = end
	return n, ok
}

func (s *treeScan) object(depth int) (any, bool) {
	m := map[string]any{}
	if s.i++; s.word("}") {
		return m, true
	}
	for s.i < len(s.data) && s.data[s.i] == '"' {
		key, ok := s.string()
		if !ok || !s.word(":") {
			return nil, false
		}
		if m[key], ok = s.value(depth + 1); !ok {
			return nil, false
		}
		switch {
		case s.word("}"):
			return m, true
		case !s.word(","):
			return nil, false
		}
	}
	return nil, false
}

func (s *treeScan) list(depth int) (any, bool) {
	l := []any{}
	if s.i++; s.word("]") {
		return l, true
	}
	for {
		v, ok := s.value(depth + 1)
		if !ok {
			return nil, false
		}
		l = append(l, v)
		switch {
		case s.word("]"):
			return l, true
		case !s.word(","):
			return nil, false
		}
	}
}

// string reads the text whose opening quote stands next.
func (s *treeScan) string() (string, bool) {
	start := s.i
	end, ok := scanString(s.data, s.i+1)
	s.i = end
	if !ok {
		return "", false
	}
	inner := s.text[start+1 : end-1]
	for i := range len(inner) {
		if inner[i] == '\\' {
			var plain string
			err := json.Unmarshal(s.data[start:end], &plain)
			return plain, err == nil
		}
	}
	return inner, true
}

// word goes over a word if it stands next.
func (s *treeScan) word(word string) bool {
	end := s.i + len(word)
	if end > len(s.text) || s.text[s.i:end] != word {
		return false
	}
	s.i = end
	return true
}
