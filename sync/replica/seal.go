package replica

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"fmt"

	"tacet/jobs"
)

// The prefixes keep one kind of signature from passing as another.
const (
	sealPrefix    = "tacet seal 1\n"
	receiptPrefix = "tacet receipt 1\n"
	devicePrefix  = "tacet device 1\n"
	cursorPrefix  = "tacet cursor 1\n"
	logPrefix     = "tacet log 1\n"
)

// Seal is a device's signature over the head of one of its lanes; the hash chain covers all that stands before.
type Seal struct {
	Co      string    `json:"co"`
	Dev     string    `json:"dev"`
	Job     string    `json:"job"`
	Seq     int64     `json:"seq"`
	H       jobs.Hash `json:"h"`
	Run     int64     `json:"run"`
	Sig     []byte    `json:"sig"`
	Receipt *Receipt  `json:"receipt,omitempty"` // once a server has it
}

func (s Seal) signed() ([]byte, error) {
	return signable(sealPrefix, map[string]any{"co": s.Co, "dev": s.Dev, "job": s.Job, "seq": s.Seq, "h": s.H.String(), "run": s.Run})
}

// Sign puts the device's signature on the seal.
func (s *Seal) Sign(key ed25519.PrivateKey) error {
	m, err := s.signed()
	if err != nil {
		return fmt.Errorf("seal lane of job %s: %w", s.Job, err)
	}
	s.Sig = ed25519.Sign(key, m)
	return nil
}

// Verify tells whether the seal is by the holder of key.
func (s Seal) Verify(key ed25519.PublicKey) bool { return verify(key, s.signed, s.Sig) }

// Receipt is the server's signature that it had a lane up to Seq, at a time and a position of its log.
type Receipt struct {
	Co    string    `json:"co"`
	Epoch string    `json:"epoch"`
	N     int64     `json:"n"`
	Dev   string    `json:"dev"`
	Job   string    `json:"job"`
	Seq   int64     `json:"seq"`
	H     jobs.Hash `json:"h"`
	At    int64     `json:"at"` // server clock, ms
	Sig   []byte    `json:"sig"`
}

func (r Receipt) signed() ([]byte, error) {
	return signable(receiptPrefix, map[string]any{"co": r.Co, "epoch": r.Epoch, "n": r.N, "dev": r.Dev, "job": r.Job,
		"seq": r.Seq, "h": r.H.String(), "at": r.At})
}

// Sign puts the server's signature on the receipt. Ed25519 signs equal bytes equally, so a receipt that is asked for
// again is the same receipt.
func (r *Receipt) Sign(key ed25519.PrivateKey) error {
	m, err := r.signed()
	if err != nil {
		return fmt.Errorf("sign receipt of job %s: %w", r.Job, err)
	}
	r.Sig = ed25519.Sign(key, m)
	return nil
}

// Verify tells whether the receipt is by the holder of key.
func (r Receipt) Verify(key ed25519.PublicKey) bool { return verify(key, r.signed, r.Sig) }

// covers tells whether the receipt is one for this seal.
func (r Receipt) covers(s Seal) bool {
	return r.Co == s.Co && r.Dev == s.Dev && r.Job == s.Job && r.Seq == s.Seq && r.H == s.H
}

func (d DeviceKey) signed(co string) func() ([]byte, error) {
	return func() ([]byte, error) {
		return signable(devicePrefix, map[string]any{"co": co, "dev": d.Dev, "key": base64.StdEncoding.EncodeToString(d.Key)})
	}
}

// Sign puts the server's signature on the key of a company's device. A receipt says that a lane was here, not whose it was: a server
// that went back to a backup knows a device that was enrolled since by this signature alone.
func (d *DeviceKey) Sign(co string, key ed25519.PrivateKey) error {
	m, err := d.signed(co)()
	if err != nil {
		return fmt.Errorf("sign the key of device %s: %w", d.Dev, err)
	}
	d.Sig = ed25519.Sign(key, m)
	return nil
}

// Verify tells whether the holder of key said that it is the device's key.
func (d DeviceKey) Verify(co string, key ed25519.PublicKey) bool {
	return verify(key, d.signed(co), d.Sig)
}

// Cursor is how far a log was read: epoch, position, the head of the log's hash chain there, signed by the server.
// A log that was rolled back and filled again has another head at the same position.
type Cursor struct {
	Epoch string    `json:"epoch"`
	N     int64     `json:"n"`
	Head  jobs.Hash `json:"head"`
	Sig   []byte    `json:"sig,omitempty"`
}

func (c Cursor) signed(co string) func() ([]byte, error) {
	return func() ([]byte, error) {
		return signable(cursorPrefix, map[string]any{"co": co, "epoch": c.Epoch, "n": c.N, "head": c.Head.String()})
	}
}

// Sign puts the server's signature on the cursor of a company's log.
func (c *Cursor) Sign(co string, key ed25519.PrivateKey) error {
	m, err := c.signed(co)()
	if err != nil {
		return fmt.Errorf("sign cursor: %w", err)
	}
	c.Sig = ed25519.Sign(key, m)
	return nil
}

// Verify tells whether the cursor is one of company co, by the holder of key.
func (c Cursor) Verify(co string, key ed25519.PublicKey) bool {
	return verify(key, c.signed(co), c.Sig)
}

// NextHead is the head of the log's chain after one more act.
func NextHead(head jobs.Hash, n int64, act string, h jobs.Hash) jobs.Hash {
	d := sha256.New()
	d.Write([]byte(logPrefix))
	d.Write(head[:])
	fmt.Fprintf(d, "%d\n%s\n", n, act)
	d.Write(h[:])
	return jobs.Hash(d.Sum(nil))
}

func signable(prefix string, v map[string]any) ([]byte, error) {
	b, err := jobs.Canonical(v)
	if err != nil {
		return nil, err
	}
	return append([]byte(prefix), b...), nil
}

func verify(key ed25519.PublicKey, signed func() ([]byte, error), sig []byte) bool {
	if len(key) != ed25519.PublicKeySize || len(sig) != ed25519.SignatureSize {
		return false
	}
	m, err := signed()
	return err == nil && ed25519.Verify(key, m, sig)
}
