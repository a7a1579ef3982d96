package jobs

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Limits of an entry, in bytes and counts.
const (
	MaxBody     = 32 << 10
	MaxEnvelope = 8 << 10 // 64 references alone are about 4 KiB
	MaxRefs     = 64
	MaxBlobs    = 32
)

// Envelope is the part of an entry that its hash covers directly. It is written once, as canonical JSON, and kept as
// those bytes. All that decides where an entry belongs and what it touches stands here and not in the body, so that an
// older program that can't read the body still knows what is no longer settled.
type Envelope struct {
	V     int    `json:"v"`              // version of the envelope, 1
	ID    string `json:"id"`             // UUIDv7
	Co    string `json:"co"`             // company
	Job   string `json:"job"`            // job; company-wide facts stand in the job whose id is the company's
	Dev   string `json:"dev"`            // device
	Seq   int64  `json:"seq"`            // place in the lane (device, job): 1, 2, 3 … without gaps
	Prev  Hash   `json:"prev"`           // hash of the lane's entry before; empty at 1
	Run   int64  `json:"run"`            // the device's own number over all its jobs, without gaps
	Clk   Clock  `json:"clk"`            // hybrid clock
	Off   int64  `json:"off"`            // device clock minus server clock at last contact, ms
	Seen  Seen   `json:"seen"`           // what of the server's log was pulled when this was written
	By    string `json:"by"`             // person who records, by id: names stay outside the chain
	Role  Role   `json:"role"`           // role claimed, checked once on admission
	Kind  string `json:"kind"`           // kind of entry
	KV    int    `json:"kv"`             // version of the kind
	On    On     `json:"on"`             // subject
	Refs  []Ref  `json:"refs,omitempty"` // other entries of the same job
	Blobs []Hash `json:"blobs,omitempty"`
	Was   Hash   `json:"was"`  // the entry that this one re-issues
	Body  Hash   `json:"body"` // SHA-256 of the body
	Len   int    `json:"len"`  // its length in bytes
}

// Seen is a position in the server's log.
type Seen struct {
	Epoch string `json:"epoch"`
	N     int64  `json:"n"`
}

// On names the subject of an entry: where conflicts are looked for. Empty fields are left out.
type On struct {
	Surface   string `json:"surface,omitempty"`
	Layer     int    `json:"layer,omitempty"`
	Check     string `json:"check,omitempty"`
	Structure string `json:"structure,omitempty"`
	Room      string `json:"room,omitempty"`
}

// As says what one entry has to do with another.
type As string

// The four ways to refer to another entry.
const (
	Base As = "base" // a description replaced
	Over As = "over" // an attestation superseded
	Sees As = "sees" // what was judged
	Of   As = "of"   // what it belongs to
)

// Ref is a reference by hash: the device chooses ids, but nobody chooses a hash.
type Ref struct {
	H  Hash `json:"h"`
	As As   `json:"as"`
}

// Entry is an envelope and a body, as bytes exactly as their author wrote them.
type Entry struct {
	Envelope
	Hash Hash
	Env  []byte
	Data []byte // the body; nil while it is held back or once it is erased
	Key  []byte // of what is sealed in the body; nil where nothing is, or once it was thrown away

	read *heard // what the body says, where it was read already
}

// NewEntry writes env and body into an entry. Body is canonical JSON.
func NewEntry(env Envelope, body []byte) (Entry, error) {
	env.V = 1
	env.Body, env.Len = HashBlob(body), len(body)
	loose, err := json.Marshal(env)
	if err != nil {
		return Entry{}, fmt.Errorf("write envelope: %w", err)
	}
	tree, err := parseTree(loose)
	if err != nil {
		return Entry{}, fmt.Errorf("write envelope: %w", err)
	}
	bytes, err := Canonical(tree)
	if err != nil {
		return Entry{}, fmt.Errorf("write envelope: %w", err)
	}
	return ParseEntry(bytes, body)
}

// ParseEntry reads an entry from its bytes and checks everything that needs no other entry: form, canonical bytes,
// limits, the body against its hash. A nil body is one that is held back or erased. The entry keeps the bytes: nobody writes to them
// any more.
func ParseEntry(env, body []byte) (Entry, error) {
	if len(env) > MaxEnvelope {
		return Entry{}, &InputError{Field: "envelope", Value: fmt.Sprint(len(env)), Range: fmt.Sprintf("at most %d", MaxEnvelope), Unit: "bytes"}
	}
	if err := CheckCanonical(env); err != nil {
		return Entry{}, fmt.Errorf("envelope: %w", err)
	}
	e := Entry{Env: env, Data: body, Hash: HashEnvelope(env)}
	var err error
	if e.Envelope, err = ReadEnvelope(env); err != nil {
		return Entry{}, fmt.Errorf("envelope: %w", err)
	}
	if err := e.Envelope.valid(); err != nil {
		return Entry{}, err
	}
	if body == nil {
		return e, nil
	}
	if HashBlob(body) != e.Body || len(body) != e.Len {
		return Entry{}, fmt.Errorf("body of entry %s: %w", e.ID, ErrHash)
	}
	if err := CheckCanonical(body); err != nil {
		return Entry{}, fmt.Errorf("body of entry %s: %w", e.ID, err)
	}
	return e, nil
}

func (e Envelope) valid() error {
	bad := func(field string, value any, allowed string) error {
		return &InputError{Field: field, Value: fmt.Sprint(value), Range: allowed}
	}
	switch {
	case e.V != 1:
		return bad("v", e.V, "1")
	case !isUUID(e.ID):
		return bad("id", e.ID, "a UUID in lower case")
	case !isUUID(e.Co):
		return bad("co", e.Co, "a UUID in lower case")
	case !isUUID(e.Job):
		return bad("job", e.Job, "a UUID in lower case")
	case !isUUID(e.Dev):
		return bad("dev", e.Dev, "a UUID in lower case")
	case !isUUID(e.By):
		return bad("by", e.By, "a UUID in lower case")
	case e.Seq < 1:
		return bad("seq", e.Seq, "1 and up")
	case e.Run < e.Seq:
		return bad("run", e.Run, "not below seq")
	case (e.Seq == 1) != e.Prev.IsZero():
		return bad("prev", e.Prev, "empty at seq 1 and only there")
	case e.Seen.N < 0:
		return bad("seen.n", e.Seen.N, "0 and up")
	case !isKind(e.Kind):
		return bad("kind", e.Kind, "1 to 40 letters, digits and signs of ASCII")
	case hasControls(e.On.Surface, e.On.Check, e.On.Structure, e.On.Room):
		return bad("on", e.On, "codes without control characters")
	case hasControls(e.Seen.Epoch):
		return bad("seen.epoch", e.Seen.Epoch, "a text without control characters")
	case e.KV < 1:
		return bad("kv", e.KV, "1 and up")
	case !e.Role.known():
		return bad("role", e.Role, "site, supervisor, office or owner")
	case len(e.Refs) > MaxRefs:
		return bad("refs", len(e.Refs), fmt.Sprintf("at most %d", MaxRefs))
	case len(e.Blobs) > MaxBlobs:
		return bad("blobs", len(e.Blobs), fmt.Sprintf("at most %d", MaxBlobs))
	case e.Len < 2 || e.Len > MaxBody:
		return bad("len", e.Len, fmt.Sprintf("2 to %d bytes", MaxBody))
	case e.On.Layer < 0:
		return bad("on.layer", e.On.Layer, "1 and up")
	}
	for _, r := range e.Refs {
		if r.H.IsZero() || !slices.Contains([]As{Base, Over, Sees, Of}, r.As) {
			return bad("refs", r.As, "a hash with base, over, sees or of")
		}
	}
	return nil
}

// Refers lists the hashes that e names as one of the given.
func (e Envelope) Refers(as ...As) []Hash {
	var hs []Hash
	for _, r := range e.Refs {
		if slices.Contains(as, r.As) {
			hs = append(hs, r.H)
		}
	}
	return hs
}

// before is the order of entries that no reference orders: clock, device, the device's own number; and the id, where a copied
// device gave one number twice.
func (e *Envelope) before(f *Envelope) int {
	if c := cmp.Compare(e.Clk, f.Clk); c != 0 {
		return c // as nearly always: the rest is not compared for nothing
	}
	return cmp.Or(cmp.Compare(e.Dev, f.Dev), cmp.Compare(e.Run, f.Run), cmp.Compare(e.ID, f.ID))
}

// isKind tells whether a text can be the name of a kind of entry, of a later version too: it is filed under it, counted and shown, and
// must not look like another one.
func isKind(s string) bool {
	return s != "" && len(s) <= 40 && !strings.ContainsFunc(s, func(r rune) bool { return r <= ' ' || r > '~' })
}

// hasControls finds what stands in no code that a person reads, and what not every database keeps.
func hasControls(texts ...string) bool {
	return slices.ContainsFunc(texts, func(s string) bool { return strings.ContainsFunc(s, unicode.IsControl) })
}

func isUUID(s string) bool {
	if len(s) != 36 {
		return false
	}
	for i, c := range []byte(s) {
		dash := i == 8 || i == 13 || i == 18 || i == 23
		if dash != (c == '-') || !dash && (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}
