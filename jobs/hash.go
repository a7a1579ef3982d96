package jobs

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
)

// Hash is a SHA-256 value; as text it is base64url without padding.
type Hash [32]byte

// IsZero reports whether h is the empty hash, which stands before the first entry of a lane.
func (h Hash) IsZero() bool { return h == Hash{} }

// String returns the base64url text, or nothing for the empty hash.
func (h Hash) String() string {
	if h.IsZero() {
		return ""
	}
	return base64.RawURLEncoding.EncodeToString(h[:])
}

// MarshalText writes the hash as String does.
func (h Hash) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// UnmarshalText reads what MarshalText wrote; any other spelling of the same bits is refused.
func (h *Hash) UnmarshalText(text []byte) error {
	v, err := ParseHash(string(text))
	if err != nil {
		return err
	}
	*h = v
	return nil
}

// ParseHash reads the text form of a hash.
func ParseHash(s string) (Hash, error) {
	var h Hash
	if s == "" {
		return h, nil
	}
	b, err := base64.RawURLEncoding.Strict().DecodeString(s)
	if err != nil || len(b) != len(h) {
		return h, fmt.Errorf("%q is not a hash", s)
	}
	copy(h[:], b)
	return h, nil
}

// HashEnvelope returns the hash of an entry, taken over its envelope; the envelope holds the hash of the body.
func HashEnvelope(env []byte) Hash {
	d := sha256.New()
	d.Write([]byte("tacet entry 1\n"))
	d.Write(env)
	return Hash(d.Sum(nil))
}

// HashBlob returns the hash of a body or a photo: its plain SHA-256.
func HashBlob(data []byte) Hash { return sha256.Sum256(data) }
