package jobs

import (
	"bytes"
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

// hashText is how a hash is spelled; any other spelling of the same bits is refused.
var hashText = base64.RawURLEncoding.Strict()

// UnmarshalText reads what MarshalText wrote.
func (h *Hash) UnmarshalText(text []byte) error {
	var v Hash
	if len(text) == 0 {
		*h = v
		return nil
	}
	// the decoder passes over line ends
	if len(text) != hashText.EncodedLen(len(v)) || bytes.ContainsAny(text, "\r\n") {
		return fmt.Errorf("%q is not a hash", text)
	}
	if _, err := hashText.Decode(v[:], text); err != nil {
		return fmt.Errorf("%q is not a hash", text)
	}
	*h = v
	return nil
}

// ParseHash reads the text form of a hash.
func ParseHash(s string) (h Hash, err error) {
	err = h.UnmarshalText([]byte(s))
	return h, err
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
