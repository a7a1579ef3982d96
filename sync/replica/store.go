package replica

import (
	"context"
	"crypto/ed25519"
	"time"

	"tacet/jobs"
)

// State is where an entry stands on this replica.
type State string

// The states of an entry.
const (
	Unsent    State = "unsent"     // saved here, no receipt yet
	Sent      State = "sent"       // a receipt is here, its place in the log has not been pulled yet
	Standing  State = "standing"   // counts
	Held      State = "held"       // chain and seal are right, a rule says no: waits for the supervisor
	Refused   State = "refused"    // the supervisor said no
	ToConfirm State = "to_confirm" // stood in a log that the server has lost
)

// The acts of the log.
const (
	ActStand    = "stand"
	ActHold     = "hold"
	ActAdmit    = "admit"
	ActRefuse   = "refuse"
	ActWithdraw = "withdraw"
)

// after is the state of an entry after an act, "" for an act that this version does not know.
func after(act string) State {
	switch act {
	case ActStand, ActAdmit:
		return Standing
	case ActHold, ActWithdraw:
		return Held
	case ActRefuse:
		return Refused
	}
	return ""
}

// Stored is an entry with what the replica knows about it.
type Stored struct {
	jobs.Entry
	State State
	N     int64  // position of its last act in the log, 0 without one
	Pos   int64  // its place in the order of arrival within the job, 1, 2, 3 …; drawn by Tx.Insert
	At    int64  // when this replica got it, ms
	Says  string // why it is held or was refused

	Misfiled bool // what the store finds it by is not what it says itself
}

// Act is one line of the company's log.
type Act struct {
	N    int64
	Act  string
	H    jobs.Hash
	Job  string
	Head jobs.Hash // of the log's chain, this act included
	At   int64     // ms
	Says string    // why, for acts that hold or refuse
	Dev  string    // of the entry; filled when read
	Raw            // of the entry; filled when read

	Before *jobs.Hash // head of the log just before this act, where what stands there is not shown
}

// Seq is the end of the company's log.
type Seq struct {
	Epoch string
	N     int64
	Head  jobs.Hash
}

// Epoch is a stretch of the log within which positions and heads never go back.
type Epoch struct {
	ID     string
	Parent string
	FirstN int64
	Cause  string
	At     int64 // ms
}

// Device is a device as the company knows it.
type Device struct {
	ID       string
	Key      ed25519.PublicKey
	Name     string
	Person   string // who enrolled it
	Revoked  int64  // ms, 0 while active
	Enrolled int64  // ms
	NextRun  int64
	Clk      jobs.Clock
	Was      string // the device that this one goes on for, "" for most
	KeySig   []byte // the server's signature on the key, kept for it by the others; nil where it was not given
}

// Mark is the state of a job in the store: when total and revision are as before, so is the job.
type Mark struct {
	Job   string
	Total int64     // entries of the job here, in any state
	Rev   int64     // grows whenever an entry that was here changes its state
	Count int64     // entries that stand
	Sum   jobs.Hash // the sum of their hashes modulo 2^256
	N     int64     // position of the job's last act
}

// Stands adds an entry to those that stand.
func (m *Mark) Stands(h jobs.Hash) {
	m.Count++
	m.Sum = plus(m.Sum, h)
}

// Known is what Tx.Known tells of an entry.
type Known struct {
	H     jobs.Hash
	State State
	N     int64
	Seq   int64
	Run   int64
}

// Me is who this home is in a company, and how far it has read that company's log.
type Me struct {
	Company     string
	Device      string
	Person      string
	Role        jobs.Role
	Server      string // address, "" before enrolment
	Login       string
	Certificate string
	ServerKey   ed25519.PublicKey
	Cursor      Cursor
	Ladder      []Rung // positions before the cursor, oldest first
	Access      string // what the server said of access last, as far as it was followed
	Off         int64  // device clock minus server clock at last contact, ms
	Active      bool   // the company in which this home records; exactly one
}

// Photo is a picture that an entry of a job names.
type Photo struct {
	Job  string
	H    jobs.Hash
	Size int64
	Here bool // whole on this disk
	Sent bool // whole at the server
}

// JobRow is one line of the list of jobs.
type JobRow struct {
	ID, Name, Site string
	Total, Rev     int64 // of the job's mark: when both are as before, so is the job
	Entries        int
	Unsent         int
	Held           int
	Last           jobs.Clock // of the entry with the latest clock
}

// View is what is cached of the fold of a job.
type View struct {
	Job        string
	Total, Rev int64 // the mark it was made at
	Name, Site string
	Sheets     map[string]string // readable code -> surface
}

// Store keeps the record. Both functions run f in one transaction of one company and are refused for an empty one.
// An error of f, which is returned unchanged, takes everything back.
type Store interface {
	// Read gives f one snapshot.
	Read(ctx context.Context, co string, f func(Tx) error) error
	// Write gives f the company's lock until the commit, and the commit is durable when Write returns nil.
	Write(ctx context.Context, co string, f func(Tx) error) error
	// Companies lists the companies that have a record here.
	Companies(ctx context.Context) ([]string, error)
	// Active gives the identity in which this home records, or ErrNoHome.
	Active(ctx context.Context) (Me, error)
}

// Tx is a transaction in one company.
type Tx interface {
	// Of is the same transaction in another company.
	Of(co string) (Tx, error)

	Seq() (Seq, error) // the zero Seq where no log has begun
	SetSeq(Seq) error
	PutEpoch(Epoch) error
	Log([]Act) error
	Acts(after int64, limit, maxBytes int) ([]Act, error) // in order; at least one where there is one
	HeadAt(n int64) (jobs.Hash, error)                    // zero at 0 and where the log has no such position

	Device(dev string) (Device, error) // jobs.ErrNotFound
	Devices() ([]Device, error)
	PutDevice(Device) error

	Insert([]Stored) error // draws Pos, raises the job's total; the caller owns count, sum, n
	Known(ids []string) (map[string]Known, error)
	Lane(dev, job string) (LaneHead, error) // Seq 0 where it has not begun
	LanesOf(dev string) ([]LaneHead, error)
	At(dev, job string, seq int64) (Known, error)                // jobs.ErrNotFound
	Entries(job string, afterPos int64) ([]Stored, error)        // in the order of arrival
	Outbox(limit, maxBytes int) ([]Stored, error)                // unsent, in run order; until either limit is reached
	Entry(h jobs.Hash) (Stored, error)                           // jobs.ErrNotFound
	InState(s State, notDev string, limit int) ([]Stored, error) // by device, in run order
	SetState(h jobs.Hash, s State, n int64, says string) error
	SetBody(h jobs.Hash, body, key []byte) error              // a body that was held back has come, with its key where one is sealed in it
	DropKey(h jobs.Hash) error                                // throws the key of an entry away, for ever: none is kept for it again
	From(dev string, run int64) ([]Stored, error)             // of one device, from a number on, in run order
	ToConfirm(after int64) error                              // sent, and what stands behind a position -> to confirm; no position behind it holds any more
	MarkSent(dev, job string, upto int64) (int, error)        // unsent -> sent
	Count(s State, dev string) (n int, oldest int64, e error) // of one device; oldest At in ms

	Mark(job string) (Mark, error) // zero where nothing is here
	SetMark(Mark) error            // sets Rev, Count, Sum, N; Total belongs to Insert
	Marks(afterN int64) ([]Mark, error)

	PutSeals([]Seal) error // those already there stay as they are, but for a receipt that was missing
	Seals(afterN, uptoN int64) ([]Seal, error)
	SealsOf(job string) ([]Seal, error)
	SealAt(dev, job string, seq int64) (Seal, error) // jobs.ErrNotFound
	LastSeal(dev, job string) (Seal, error)          // jobs.ErrNotFound

	PutAside([]Aside) error             // what is there already stays as it is
	Asides(dev string) ([]Aside, error) // of one device, or of all for ""; in run order
	SetAside(h jobs.Hash, why Why, state AsideState, says string) error
	AsideBytes(dev string) (int64, error)
	Leave(as []Aside) error // moves entries without a place in the log out of the record, aside

	Photo(job string, h jobs.Hash) (Photo, error) // jobs.ErrNotFound
	PutPhoto(Photo) error
	Photos(here, sent bool, limit int) ([]Photo, error)
	CountPhotos(here, sent bool) (int, error)
	AllPhotos() ([]Photo, error)
	PhotoBytes() (int64, error) // of all that are here, each counted once

	Me() (Me, error) // ErrNoHome
	PutMe(Me) error
	People() ([]Person, error)
	PutPeople([]Person) error

	Access() ([]Access, error)
	PutAccess([]Access) error
	ActsSeen(after int64, hidden []string, own string, limit, maxBytes int) ([]Act, error) // Acts but those of hidden jobs that another device wrote
	ActsOf(job string, after, upto int64, limit, maxBytes int) ([]Act, error)
	First(job string) (Stored, error) // that came first; jobs.ErrNotFound
	Parts() ([]Part, error)
	PutPart(Part) error
	DropPart(job string) error
	PutArriving(job string, n int64, page []byte) error
	Arriving(job string) ([][]byte, error) // in order
	DropArriving(job string) error

	JobRows() ([]JobRow, error)
	Stale() ([]Mark, error) // jobs whose view is missing or older than their mark
	PutView(View) error
	Views() ([]View, error) // sorted by job
	DropViews() error
	Sheet(code string) (job, surface string, err error) // jobs.ErrNotFound
}

// Blobs keeps photos by content, each company's apart.
type Blobs interface {
	Put(ctx context.Context, co string, data []byte) (jobs.Hash, error) // durable when it returns
	Get(ctx context.Context, co string, h jobs.Hash) ([]byte, error)    // verified; jobs.ErrNotFound
	Size(ctx context.Context, co string, h jobs.Hash) (int64, error)    // jobs.ErrNotFound
	Drop(ctx context.Context, co string, h jobs.Hash) error             // durable when it returns; one that is not there is no error

	// The beginning of a photo that is on its way, piece by piece; nothing names it, and it may be forgotten.
	Part(ctx context.Context, co string, h jobs.Hash) (have int64, err error)
	AddPart(ctx context.Context, co string, h jobs.Hash, at int64, piece []byte) error // at most behind what is there
	JoinPart(ctx context.Context, co string, h jobs.Hash) ([]byte, error)
	DropPart(ctx context.Context, co string, h jobs.Hash) error
}

func ms(t time.Time) int64 { return t.UnixMilli() }
