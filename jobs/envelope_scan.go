package jobs

import (
	"encoding/json"
	"strconv"
	"strings"
)

// ReadEnvelope reads the bytes of an envelope that were checked when they came; what they should not hold is passed over.
func ReadEnvelope(env []byte) (Envelope, error) {
	if e, ok := scanEnvelope(env); ok {
		return e, nil
	}
	var e Envelope
	err := json.Unmarshal(env, &e)
	return e, err
}

// scanEnvelope reads an envelope in one pass over its canonical bytes, whose keys stand in one order. False means that it is
// written in another way, or wrong: what it says then, or what is wrong with it, is left to the long way.
func scanEnvelope(env []byte) (Envelope, bool) {
	var e Envelope
	s := envelopeScan{rest: string(env), ok: true}
	s.word(`{`)
	if s.has(`"blobs":[`) {
		for more := true; more && s.ok; more = s.has(`,`) {
			e.Blobs = append(e.Blobs, s.hash())
		}
		s.word(`],`)
	}
	e.Body = s.keyHash(`"body":`)
	e.By = s.key(`,"by":`)
	e.Clk = s.clock(`,"clk":`)
	e.Co = s.key(`,"co":`)
	e.Dev = s.key(`,"dev":`)
	e.ID = s.key(`,"id":`)
	e.Job = s.key(`,"job":`)
	e.Kind = s.key(`,"kind":`)
	e.KV = int(s.integer(`,"kv":`))
	e.Len = int(s.integer(`,"len":`))
	e.Off = s.integer(`,"off":`)
	e.On = s.on(`,"on":{`)
	e.Prev = s.keyHash(`,"prev":`)
	if s.has(`,"refs":[`) {
		for more := true; more && s.ok; more = s.has(`,`) {
			as := As(s.key(`{"as":`))
			e.Refs = append(e.Refs, Ref{As: as, H: s.keyHash(`,"h":`)})
			s.word(`}`)
		}
		s.word(`]`)
	}
	e.Role = Role(s.key(`,"role":`))
	e.Run = s.integer(`,"run":`)
	e.Seen.Epoch = s.key(`,"seen":{"epoch":`)
	e.Seen.N = s.integer(`,"n":`)
	e.Seq = s.integer(`},"seq":`)
	e.V = int(s.integer(`,"v":`))
	e.Was = s.keyHash(`,"was":`)
	s.word(`}`)
	return e, s.ok && s.rest == ""
}

// envelopeScan is what is left to read, and whether all was as expected so far.
type envelopeScan struct {
	rest string
	ok   bool
}

// has takes a word if it stands next.
func (s *envelopeScan) has(word string) bool {
	rest, ok := strings.CutPrefix(s.rest, word)
	if ok {
		s.rest = rest
	}
	return ok
}

// word takes what must stand next.
func (s *envelopeScan) word(word string) { s.ok = s.has(word) && s.ok }

// text takes a text of plain ASCII without escapes. It is copied: what keeps it should not keep the whole envelope.
func (s *envelopeScan) text() string {
	s.word(`"`)
	for i := 0; i < len(s.rest); i++ {
		switch c := s.rest[i]; {
		case c == '"':
			text := strings.Clone(s.rest[:i])
			s.rest = s.rest[i+1:]
			return text
		case c < 0x20 || c > 0x7e || c == '\\':
			s.ok = false
			return ""
		}
	}
	s.ok = false
	return ""
}

func (s *envelopeScan) key(word string) string {
	s.word(word)
	return s.text()
}

func (s *envelopeScan) hash() Hash {
	h, err := ParseHash(s.text())
	s.ok = s.ok && err == nil
	return h
}

func (s *envelopeScan) keyHash(word string) Hash {
	s.word(word)
	return s.hash()
}

func (s *envelopeScan) clock(word string) (c Clock) {
	err := c.UnmarshalText([]byte(s.key(word)))
	s.ok = s.ok && err == nil
	return c
}

// integer takes a whole number as the canonical form has it, small enough for every kind of integer here.
func (s *envelopeScan) integer(word string) int64 {
	s.word(word)
	end := strings.IndexAny(s.rest, ",}")
	if end < 0 {
		s.ok = false
		return 0
	}
	digits := s.rest[:end]
	n, err := strconv.ParseInt(digits, 10, 54)
	s.ok = s.ok && err == nil && strconv.FormatInt(n, 10) == digits
	s.rest = s.rest[end:]
	return n
}

func (s *envelopeScan) on(word string) (on On) {
	s.word(word)
	first := true
	next := func(key string) bool {
		if !first {
			key = `,` + key
		}
		if !s.has(key) {
			return false
		}
		first = false
		return true
	}
	if next(`"check":`) {
		on.Check = s.text()
	}
	if next(`"layer":`) {
		on.Layer = int(s.integer(``))
	}
	if next(`"room":`) {
		on.Room = s.text()
	}
	if next(`"structure":`) {
		on.Structure = s.text()
	}
	if next(`"surface":`) {
		on.Surface = s.text()
	}
	s.word(`}`)
	return on
}
