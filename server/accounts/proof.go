package accounts

import (
	"crypto/ed25519"
	"fmt"
	"time"
)

// ProofAge is how far the time in a proof may be from the server's clock, either way. Devices put the server's time into it, which
// every answer tells them, so a wrong clock of their own does no harm.
const ProofAge = 2 * time.Minute

// Proof is a device's signature under a request that gives it tokens: whoever has only the tokens, or only a copy of the database they
// were in, can't make one.
type Proof struct {
	At      time.Time // by the server's clock
	Message []byte    // what was signed, At included
	Sig     []byte
}

func (p Proof) check(key ed25519.PublicKey, now time.Time) error {
	if d := now.Sub(p.At); d > ProofAge || d < -ProofAge {
		return signInNeeded(fmt.Sprintf("the device signed for %s, which is not now", p.At.UTC().Format(time.RFC3339)))
	}
	if len(key) != ed25519.PublicKeySize || !ed25519.Verify(key, p.Message, p.Sig) {
		return signInNeeded("the signature is not by this device's key")
	}
	return nil
}
