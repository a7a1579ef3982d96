package wire

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"

	"tacet/jobs"
)

// Proof is a device's signature under a request for tokens. It binds the tokens to the device: whoever has only a
// refresh token, or only a copy of the database that it was in, can't use it.
type Proof struct {
	At  int64  `json:"at"`  // ms by the server's clock, as GET /v1/hello tells it; a wrong clock of the device does no harm
	Sig []byte `json:"sig"` // Ed25519 over what Signed returns
}

// Signed is what the device signs when it enrols at a time.
func (r EnrolRequest) Signed(at int64) ([]byte, error) {
	return proofText("enrol", r.Device, r.Code, at)
}

// Signed is what the device signs when a person signs in on it at a time.
func (r SignInRequest) Signed(at int64) ([]byte, error) {
	return proofText("sign-in", r.Device, r.Login, at)
}

// Signed is what the device signs when it exchanges a refresh token at a time.
func (r RefreshRequest) Signed(at int64) ([]byte, error) {
	return proofText("refresh", r.Device, r.RefreshToken, at)
}

// proofText names what is asked for, by which device, when, and the hash of the secret or name that it is asked with.
func proofText(purpose, device, of string, at int64) ([]byte, error) {
	b, err := jobs.Canonical(map[string]any{"at": at, "dev": device, "for": purpose, "of": jobs.HashBlob([]byte(of)).String()})
	if err != nil {
		return nil, fmt.Errorf("prove the device: %w", err)
	}
	return append([]byte("tacet proof 1\n"), b...), nil
}

// prove signs for the present moment of the server, which it asks for.
func (h *HTTP) prove(ctx context.Context, key ed25519.PrivateKey, signed func(int64) ([]byte, error)) (Proof, error) {
	if len(key) != ed25519.PrivateKeySize {
		return Proof{}, errors.New("the request lacks the device's key")
	}
	hello, err := h.Hello(ctx)
	if err != nil {
		return Proof{}, err
	}
	text, err := signed(hello.Time)
	if err != nil {
		return Proof{}, err
	}
	return Proof{At: hello.Time, Sig: ed25519.Sign(key, text)}, nil
}
