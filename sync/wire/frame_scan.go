package wire

import (
	"bytes"
	"encoding/json"
)

// readFrame reads a line into f. Nearly all of most streams is entries, which stand at the end of their frames: that end is read in one
// pass, and what stands before it by the long way. A line that is written in another way is read by the long way as a whole.
func readFrame(line []byte, f *Frame) error {
	head, e, ok := scanEntry(line)
	if ok && len(head) == 0 {
		f.Entry = &e
		return nil
	}
	// an empty text stands for what was read, so that what stands before it is held to the same grammar
	if ok && withinAct(head) && json.Unmarshal(append(head, `,"e":""}}`...), f) == nil && f.Act.B == nil && f.Act.K == nil {
		f.Act.EntryFrame = e
		return nil
	}
	*f = Frame{}
	return json.Unmarshal(line, f)
}

// withinAct says that a head, which begins with an act, ends among the act's own members: not inside one of them, and not behind the act.
func withinAct(head []byte) bool {
	depth, quoted := 1, false
	for i := len(actBegins); i < len(head); i++ {
		switch c := head[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{', c == '[':
			depth++
		case c == '}', c == ']':
			depth--
		}
		if depth == 0 {
			return false
		}
	}
	return depth == 1
}

const (
	entryBegins = `{"entry":{"e":`
	actBegins   = `{"act":{`
)

// scanEntry reads the members e, b and k where they are the last of a frame of an entry or an act, and gives what stands before them: nothing
// in that of an entry. False means that the line is written in another way.
func scanEntry(line []byte) (head []byte, e EntryFrame, ok bool) {
	s := textScan{line: line}
	if bytes.HasPrefix(line, []byte(entryBegins)) {
		s.at = len(entryBegins)
	} else if i := bytes.Index(line, []byte(`,"e":"`)); i > len(actBegins) && bytes.HasPrefix(line, []byte(actBegins)) {
		// no text holds these bytes: a quote in it has a backslash before it
		head, s.at = bytes.Clone(line[:i]), i+len(`,"e":`)
	} else {
		return nil, e, false
	}
	s.out = make([]byte, 0, len(line)-s.at)
	if e.E, ok = s.text(); !ok {
		return nil, e, false
	}
	if s.word(`,"b":`) {
		if e.B, ok = s.text(); !ok {
			return nil, e, false
		}
	}
	if s.word(`,"k":`) {
		start := s.at
		if _, ok = s.text(); !ok || json.Unmarshal(line[start:s.at], &e.K) != nil {
			return nil, e, false
		}
	}
	return head, e, s.word(`}}`) && s.at == len(line)
}

// textScan is how far a line is read.
type textScan struct {
	line []byte
	at   int
	out  []byte // the texts, one behind the other
}

// text reads a JSON string. False means that it is written in another way, or wrong.
func (s *textScan) text() ([]byte, bool) {
	if !s.word(`"`) {
		return nil, false
	}
	start := len(s.out)
	for i := s.at; i < len(s.line); i++ {
		switch c := s.line[i]; {
		case c == '"':
			s.out = append(s.out, s.line[s.at:i]...)
			s.at = i + 1
			return s.out[start:len(s.out):len(s.out)], true
		case c < 0x20:
			return nil, false
		case c == '\\':
			s.out = append(s.out, s.line[s.at:i]...)
			i++
			if i == len(s.line) {
				return nil, false
			}
			plain, known := escaped(s.line[i])
			if !known {
				return nil, false
			}
			s.out = append(s.out, plain)
			s.at = i + 1
		}
	}
	return nil, false
}

// escaped is what a letter behind a backslash stands for. Those that take a number are left to the long way.
func escaped(c byte) (plain byte, known bool) {
	switch c {
	case '"', '\\', '/':
		return c, true
	case 'b':
		return '\b', true
	case 'f':
		return '\f', true
	case 'n':
		return '\n', true
	case 'r':
		return '\r', true
	case 't':
		return '\t', true
	}
	return 0, false
}

// word goes over a word if it stands next.
func (s *textScan) word(word string) bool {
	if !bytes.HasPrefix(s.line[s.at:], []byte(word)) {
		return false
	}
	s.at += len(word)
	return true
}
