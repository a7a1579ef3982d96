package replica

import (
	"context"
	"crypto/ed25519"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"tacet/jobs"
)

// Config is what a replica works with.
type Config struct {
	Store   Store
	Blobs   Blobs
	Company string // of this home; "" on a server, which gives positions to what arrives in any company
	Device  string // UUID of this device or server
	Key     ed25519.PrivateKey
	Now     func() time.Time // wall clock
	Rand    io.Reader        // ids
	Quota   int64            // bytes of photos that a server keeps of each company; 0 is no limit
	// Erasing writes down outside the database what an entry is about to erase at a server, and is durable when it returns; nil for nowhere.
	Erasing func(e jobs.Entry) error
}

// Replica is the record of one device or server. Its methods may be called at the same time.
type Replica struct {
	store     Store
	blobs     Blobs
	now       func() time.Time
	rand      io.Reader
	authority bool // gives positions: a server
	erasing   func(e jobs.Entry) error

	mu      sync.Mutex // what follows, and rand
	device  string
	key     ed25519.PrivateKey
	folds   map[foldKey]*folded
	offered string // what was offered last
	aside   int64  // up to which number was left aside at the server
	asked   bool   // the server was asked what it has, or has answered the last push
	push    budget
	pull    budget
	line    line
	access  string // what the last page said about access
	piece   budget // of a photo
	used    map[string]used
	erased  map[string]bool // companies in which photos were erased whose files may still be here
	quota   int64
}

// New gives the replica of a device (Company set) or of a server.
func New(c Config) *Replica {
	return &Replica{store: c.Store, blobs: c.Blobs, now: c.Now, rand: c.Rand, authority: c.Company == "",
		device: c.Device, key: c.Key, folds: map[foldKey]*folded{}, push: startBudget, pull: startBudget, piece: startPiece,
		used: map[string]used{}, erased: map[string]bool{}, quota: c.Quota, erasing: c.Erasing}
}

// Settle writes who a home is before anything is recorded in it.
func Settle(ctx context.Context, s Store, m Me) error {
	return s.Write(ctx, m.Company, func(tx Tx) error {
		m.Active = true
		return tx.PutMe(m)
	})
}

// Me tells who this home is in a company.
func (r *Replica) Me(ctx context.Context, co string) (me Me, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		me, err = tx.Me()
		return err
	})
	return me, err
}

// People is the company's directory as last pulled.
func (r *Replica) People(ctx context.Context, co string) (ps []Person, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		ps, err = tx.People()
		return err
	})
	return ps, err
}

// Enlist makes a device part of a company, at the server.
func (r *Replica) Enlist(ctx context.Context, co string, d Device) error {
	if len(d.Key) != ed25519.PublicKeySize {
		return &jobs.InputError{Field: "public_key", Value: fmt.Sprint(len(d.Key)), Range: "32", Unit: "bytes"}
	}
	return r.store.Write(ctx, co, func(tx Tx) error {
		if _, err := tx.Device(d.ID); err == nil {
			return &jobs.InputError{Field: "device", Value: d.ID, Hint: "a device with this id is already enrolled; take a new id"}
		} else if !errors.Is(err, jobs.ErrNotFound) {
			return err
		}
		d.NextRun, d.Clk, d.Revoked = 1, 0, 0
		d.Enrolled = ms(r.now())
		return tx.PutDevice(d)
	})
}

// Revoke shuts a device out from now on.
func (r *Replica) Revoke(ctx context.Context, co, dev string) error {
	return r.store.Write(ctx, co, func(tx Tx) error {
		d, err := tx.Device(dev)
		if err != nil || d.Revoked != 0 {
			return err
		}
		d.Revoked = ms(r.now())
		return tx.PutDevice(d)
	})
}

// Devices lists the devices of a company.
func (r *Replica) Devices(ctx context.Context, co string) (ds []Device, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		ds, err = tx.Devices()
		return err
	})
	return ds, err
}

// Device reads one device of a company.
func (r *Replica) Device(ctx context.Context, co, dev string) (d Device, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		d, err = tx.Device(dev)
		return err
	})
	return d, err
}

// DeviceID is the id of this replica's own device.
func (r *Replica) DeviceID() string {
	dev, _ := r.identity()
	return dev
}

func (r *Replica) identity() (dev string, key ed25519.PrivateKey) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.device, r.key
}

// publicKey is what others check the signatures of this replica with.
func (r *Replica) publicKey() ed25519.PublicKey {
	_, key := r.identity()
	pub, _ := key.Public().(ed25519.PublicKey)
	return pub
}

// NewID draws a UUIDv7 from the replica's clock and randomness.
func (r *Replica) NewID() (string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return newID(r.now(), r.rand)
}

// newID writes a UUIDv7 (RFC 9562, section 5.7). It is written here and not taken from a library because time and
// randomness are parameters: a run can be repeated.
func newID(now time.Time, rand io.Reader) (string, error) {
	var b [16]byte
	if _, err := io.ReadFull(rand, b[6:]); err != nil {
		return "", fmt.Errorf("draw an id: %w", err)
	}
	var t [8]byte
	binary.BigEndian.PutUint64(t[:], uint64(now.UnixMilli()))
	copy(b[:6], t[2:])
	b[6] = b[6]&0x0f | 0x70
	b[8] = b[8]&0x3f | 0x80
	h := hex.EncodeToString(b[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:], nil
}

// newEpoch draws 128 random bits.
func (r *Replica) newEpoch() (string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	var b [16]byte
	if _, err := io.ReadFull(r.rand, b[:]); err != nil {
		return "", fmt.Errorf("draw an epoch: %w", err)
	}
	return hex.EncodeToString(b[:]), nil
}
