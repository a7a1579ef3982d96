package replica

import (
	"errors"
	"fmt"
	"time"

	"tacet/jobs"
)

// What callers tell apart. Each has one row in the table of sync/wire, which gives exit code, HTTP status and title.
var (
	ErrSignIn       = errors.New("sign-in needed; what was recorded here is kept and recording goes on")
	ErrRevoked      = errors.New("this device was revoked; what was recorded here is kept")
	ErrUnreachable  = errors.New("no connection to the server")
	ErrBusy         = errors.New("the store is busy; try again")
	ErrNoSpace      = errors.New("no space left on the disk; nothing was saved")
	ErrQuota        = errors.New("the server has no room for more photos; they stay on this device, and records are sent all the same")
	ErrNoJob        = errors.New("no such job here")
	ErrNotEnrolled  = errors.New("this home is not enrolled with a server")
	ErrNoHome       = errors.New("nothing has been set up here yet")
	ErrInsecure     = errors.New("http:// is for this machine only; give an https:// address")
	ErrBadFrame     = errors.New("the message is not one of this protocol")
	ErrNotCanonical = errors.New("an entry's bytes are not in their one form")
	ErrBadHash      = errors.New("an entry's bytes do not have the hash they should have")
	ErrBadSeal      = errors.New("a seal is missing or not by this device's key")
	ErrChain        = errors.New("a lane does not continue where it ended")
	ErrExpectedRun  = errors.New("entries before these have not arrived")
	ErrLaneForked   = errors.New("another entry already stands at this place of the lane: was this device copied or restored?")
	ErrRunForked    = errors.New("the device gave the same number twice: was it copied or restored?")
	ErrEntryDiffers = errors.New("another entry with this id is already there")
	ErrEpochChanged = errors.New("the server's log does not continue what this device has seen of it; all is kept here")
	ErrTooLarge     = errors.New("too large for one message")
	ErrTooOld       = errors.New("this program is too old for the server; recording goes on, an update is needed to send")
	ErrSlowDown     = errors.New("too many requests; wait a while")
	ErrReceipt      = errors.New("the server's receipt does not prove that the entries arrived")
	ErrDiverged     = errors.New("this device and the server do not hold the same entries; all is kept, syncing stops")
	ErrSuperseded   = errors.New("this home goes on as another device since; start the program again")
	ErrErased       = errors.New("this photo was erased")
	ErrBroken       = errors.New("the record was changed")
)

// ErrCut is ErrUnreachable where the line was there and did not hold: what was on it may have arrived or not.
var ErrCut error = cut{}

type cut struct{}

func (cut) Error() string { return ErrUnreachable.Error() }
func (cut) Unwrap() error { return ErrUnreachable }

// Refusal is an answer of the other side with what it knows beyond the kind of error, which Unwrap gives.
type Refusal struct {
	Err        error
	Says       string        // one plain line for the person, may be empty
	NextRun    int64         // with ErrExpectedRun
	Job        string        // with ErrLaneForked and ErrRunForked: which place
	Seq        int64         //
	H          jobs.Hash     // what stands there
	Epoch      string        // with ErrEpochChanged: the present epoch
	ForkN      int64         // and the last position known to be shared
	RetryAfter time.Duration // with ErrBusy and ErrSlowDown
}

// Error says what was refused, where, and why.
func (r *Refusal) Error() string {
	if r.Says == "" {
		return r.Err.Error()
	}
	return fmt.Sprintf("%s: %s", r.Err, r.Says)
}

// Unwrap gives the sentinel.
func (r *Refusal) Unwrap() error { return r.Err }

func refuse(err error, format string, args ...any) error {
	return &Refusal{Err: err, Says: fmt.Sprintf(format, args...)}
}
