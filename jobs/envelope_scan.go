package jobs

import "bytes"

// ReadEnvelope reads the canonical bytes of an envelope, on arrival and from a store alike: two devices that hold the same bytes
// must not read two things in them. What a later version adds is passed over.
func ReadEnvelope(env []byte) (Envelope, error) {
	if e, ok := scanEnvelope(env); ok {
		return e, nil
	}
	return decodeEnvelope(env)
}

// scanEnvelope reads an envelope in one pass over its canonical bytes, whose keys stand in one order. False means that it is
// written in another way, or wrong: what it says then, or what is wrong with it, is left to the long way.
func scanEnvelope(env []byte) (Envelope, bool) {
	var e Envelope
	s := envelopeScan{env: env, ok: true}
	s.word(`{`)
	if s.has(`"blobs":[`) {
		for more := true; more && s.ok; more = s.has(`,`) {
			e.Blobs = append(e.Blobs, s.hash())
		}
		s.word(`],`)
	}
	e.Body = s.keyHash(`"body":`)
	s.keep(`,"kv":`)
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
	e.Role = s.role(`,"role":`)
	e.Run = s.integer(`,"run":`)
	e.Seen.Epoch = s.key(`,"seen":{"epoch":`)
	e.Seen.N = s.integer(`,"n":`)
	e.Seq = s.integer(`},"seq":`)
	e.V = int(s.integer(`,"v":`))
	e.Was = s.keyHash(`,"was":`)
	s.word(`}`)
	return e, s.ok && s.at == len(env)
}

// envelopeScan is how far an envelope is read, and whether all was as expected so far.
type envelopeScan struct {
	env  []byte
	at   int
	ok   bool
	kept string // a copy of the part in which most texts stand
	from int    // where that part begins
}

// keep copies the part up to a word, so that the texts in it are pieces of one copy. What keeps them should not keep the whole envelope.
func (s *envelopeScan) keep(upto string) {
	n := bytes.Index(s.env[s.at:], []byte(upto))
	if n < 0 {
		s.ok = false
		return
	}
	s.kept, s.from = string(s.env[s.at:s.at+n]), s.at
}

// has takes a word if it stands next.
func (s *envelopeScan) has(word string) bool {
	end := s.at + len(word)
	if end > len(s.env) || string(s.env[s.at:end]) != word {
		return false
	}
	s.at = end
	return true
}

// word takes what must stand next.
func (s *envelopeScan) word(word string) { s.ok = s.has(word) && s.ok }

// bytes takes a text of plain ASCII without escapes, and says where it stands.
func (s *envelopeScan) bytes() (start, end int) {
	s.word(`"`)
	start = s.at
	for i := start; i < len(s.env); i++ {
		switch c := s.env[i]; {
		case c == '"':
			s.at = i + 1
			return start, i
		case c < 0x20 || c > 0x7e || c == '\\':
			s.ok = false
			return start, start
		}
	}
	s.ok = false
	return start, start
}

func (s *envelopeScan) text() string {
	start, end := s.bytes()
	if start >= s.from && end <= s.from+len(s.kept) {
		return s.kept[start-s.from : end-s.from]
	}
	return string(s.env[start:end])
}

func (s *envelopeScan) key(word string) string {
	s.word(word)
	return s.text()
}

func (s *envelopeScan) role(word string) Role {
	s.word(word)
	start, end := s.bytes()
	for _, r := range Roles() {
		if string(s.env[start:end]) == string(r) {
			return r
		}
	}
	return Role(s.env[start:end])
}

func (s *envelopeScan) hash() (h Hash) {
	start, end := s.bytes()
	s.ok = h.UnmarshalText(s.env[start:end]) == nil && s.ok
	return h
}

func (s *envelopeScan) keyHash(word string) Hash {
	s.word(word)
	return s.hash()
}

func (s *envelopeScan) clock(word string) (c Clock) {
	s.word(word)
	start, end := s.bytes()
	s.ok = c.UnmarshalText(s.env[start:end]) == nil && s.ok
	return c
}

// integer takes a whole number as the canonical form has it, small enough for every kind of integer here.
func (s *envelopeScan) integer(word string) (n int64) {
	s.word(word)
	if s.at >= len(s.env) {
		s.ok = false
		return 0
	}
	end, ok := scanInteger(s.env, s.at)
	digits := s.env[s.at:end]
	s.at, s.ok = end, s.ok && ok
	for _, c := range digits {
		if c != '-' {
			n = n*10 + int64(c-'0')
		}
	}
	if len(digits) > 0 && digits[0] == '-' {
		return -n
	}
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
