package replica

import (
	"context"
	"crypto/ed25519"

	"tacet/jobs"
)

// Limits of one exchange.
const (
	MaxBatch      = 500     // entries
	MaxLanes      = 64      // lanes touched
	MaxBatchBytes = 1 << 20 // envelopes and bodies together
	MaxActs       = 1000    // acts of one page
	MinPage       = 2 << 10
	MaxPage       = 1 << 20
	MaxPhoto      = 12 << 20
	MaxPiece      = 256 << 10 // of a photo
)

// Raw is an entry as it travels: the bytes its author wrote, nothing parsed.
type Raw struct {
	Env  []byte
	Body []byte // nil while it is held back or once it is erased
	Key  []byte // of what is sealed in the body; no part of what was written
}

// Batch is what a device sends: entries in the order of its own numbers, and a seal for each lane they touch.
type Batch struct {
	Entries []Raw
	Seals   []Seal
	Devices []DeviceKey // of an offer: whose the seals are
}

// Verdict is what became of one entry of a batch.
type Verdict struct {
	ID    string `json:"id"`
	State State  `json:"state"` // standing or held
	Known bool   `json:"known"` // it was there before
	N     int64  `json:"n"`
	Says  string `json:"says,omitempty"` // why it is held
}

// Answer is the server's answer to a batch.
type Answer struct {
	Verdicts []Verdict
	Receipts []Receipt // one for each seal of the batch
	Time     int64     // server clock, ms
}

// Held counts the entries of the batch that wait for the supervisor.
func (a Answer) Held() int {
	n := 0
	for _, v := range a.Verdicts {
		if v.State == Held {
			n++
		}
	}
	return n
}

// Page is a stretch of the company's log, from one signed cursor to the next.
type Page struct {
	Acts    []Act
	Seals   []Seal      // of the lanes whose sealed entry lies in this stretch, with their receipts
	Devices []DeviceKey // whose seals these are
	Digests []Digest    // of the jobs changed since the cursor that was sent; only when More is false
	Cursor  Cursor      // the end of the stretch
	More    bool        // the log goes on
	Narrow  bool        // some jobs are kept from this device, and their acts are left out
	Access  string      // the sum of what is said about access; only when More is false
	Time    int64       // server clock, ms
}

// bytes is how much of a message the acts make.
func (p Page) bytes() (n int) {
	for _, a := range p.Acts {
		n += len(a.Env) + len(a.Body)
	}
	return n
}

// DeviceKey is a device and the public key that its seals are checked with.
type DeviceKey struct {
	Dev string            `json:"dev"`
	Key ed25519.PublicKey `json:"key"`
	Sig []byte            `json:"sig,omitempty"` // the server's word that it is the key, for when it has forgotten
}

// Digest tells how many entries of a job stand, and the sum of their hashes modulo 2^256.
type Digest struct {
	Job   string    `json:"job"`
	Count int64     `json:"count"`
	Sum   jobs.Hash `json:"sum"`
	N     int64     `json:"n,omitempty"` // of what is shown: the position of the last act on the job
}

// LaneHead is the last entry of a lane that the server has, with the receipt of its last seal.
type LaneHead struct {
	Job     string    `json:"job"`
	Seq     int64     `json:"seq"`
	H       jobs.Hash `json:"h"`
	Receipt *Receipt  `json:"receipt,omitempty"`
}

// Lanes is what the server has of one device.
type Lanes struct {
	NextRun int64      `json:"next_run"`
	Lanes   []LaneHead `json:"lanes"`
	Time    int64      `json:"time"`
}

// Person is a line of the company's directory. Names never stand in the chain, so that they can be erased.
type Person struct {
	ID   string    `json:"id"`
	Name string    `json:"name"`
	Role jobs.Role `json:"role"`
}

// Transport carries the exchange from a client to its server. Every error that is not one of this package's sentinels
// counts as ErrUnreachable.
type Transport interface {
	Lanes(ctx context.Context) (Lanes, error)
	Push(ctx context.Context, b Batch) (Answer, error)
	Offer(ctx context.Context, b Batch) (Answer, error)
	Aside(ctx context.Context, b Batch) (kept int, err error)
	Pull(ctx context.Context, c Cursor, maxBytes int) (Page, error)
	People(ctx context.Context) ([]Person, error)
	// Access asks what was said about access, and what this device sees.
	Access(ctx context.Context) (AccessAnswer, error)
	// BringAccess tells a server what it said and does not know any more.
	BringAccess(ctx context.Context, said []Access) error
	// History reads the log about one job, behind one position and up to another.
	History(ctx context.Context, job string, after, upto int64, maxBytes int) (Page, error)
	// SendPhoto sends a piece of a photo that is size bytes long; an empty piece asks what is there.
	SendPhoto(ctx context.Context, job string, h jobs.Hash, at, size int64, piece []byte) (PhotoPart, error)
	// FetchPhoto fetches at most n bytes of a photo, and tells how long it is.
	FetchPhoto(ctx context.Context, job string, h jobs.Hash, at int64, n int) (piece []byte, size int64, err error)
}

// PhotoPart is what a server has of a photo.
type PhotoPart struct {
	Have  int64 `json:"have"`            // bytes from the beginning on
	Whole bool  `json:"whole"`           // it is there, and has its hash
	Used  int64 `json:"used,omitempty"`  // bytes of all photos of the company, where there is a quota
	Quota int64 `json:"quota,omitempty"` // bytes that they may have
}

// Pusher is who stands at the receiving door, as the server has checked it.
type Pusher struct {
	Device  string
	Key     ed25519.PublicKey
	Persons map[string]jobs.Role // enrolled on the device
	Person  string               // signed in for this push
	Role    jobs.Role
}
