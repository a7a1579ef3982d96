package wire

import (
	"context"
	"crypto/ed25519"
	"encoding/base64"
)

// SuccessorRequest is POST /v1/devices/successor: a device that was restored from a backup, or whose disk was copied, goes
// on under a new id and key. The old key speaks for both; the new one shows that it is there.
type SuccessorRequest struct {
	Device    string `json:"device"` // that was
	Next      string `json:"next"`   // UUID, chosen by the device
	PublicKey []byte `json:"public_key"`
	Name      string `json:"name"`
	Login     string `json:"login"` // of one who uses the device
	Proof     Proof  `json:"proof"` // by the old key
	NextProof Proof  `json:"next_proof"`

	Key     ed25519.PrivateKey `json:"-"` // the old one; HTTP.Succeed signs with both
	NextKey ed25519.PrivateKey `json:"-"`
}

// Signed is what both keys sign, each for the time of its own proof.
func (r SuccessorRequest) Signed(at int64) ([]byte, error) {
	return proofText("successor", r.Device, r.Next+" "+base64.StdEncoding.EncodeToString(r.PublicKey), at)
}

// Succeed enrols the device that goes on.
func (h *HTTP) Succeed(ctx context.Context, r SuccessorRequest) (t Tokens, err error) {
	if r.Proof, err = h.prove(ctx, r.Key, r.Signed); err != nil {
		return t, err
	}
	if r.NextProof, err = h.prove(ctx, r.NextKey, r.Signed); err != nil {
		return t, err
	}
	_, err = h.post(ctx, "/v1/devices/successor", r, &t)
	return t, err
}
