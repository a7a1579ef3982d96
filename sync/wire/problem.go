package wire

import (
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Problem is an RFC 9457 problem document. Beside the standard members it carries what the client needs to go on.
type Problem struct {
	Type   string `json:"type"`
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail,omitempty"`
	// InstanceID names the line in the server's log, for errors without a row in the table.
	InstanceID string    `json:"instance_id,omitempty"`
	NextRun    int64     `json:"next_run,omitempty"`
	Job        string    `json:"job,omitempty"`
	Seq        int64     `json:"seq,omitempty"`
	H          jobs.Hash `json:"h,omitzero"`
	Epoch      string    `json:"epoch,omitempty"`
	ForkN      int64     `json:"fork_n,omitempty"`
	Field      string    `json:"field,omitempty"` // of bad input
	RetryAfter int       `json:"retry_after,omitempty"`
}

// Row is one line of the table.
type Row struct {
	Err    error
	Name   string // the problem's type is /problems/NAME
	Status int
	Exit   int // of a command that ends with the error
}

// rows is the one table of errors, in the order in which it is asked. The title is the sentinel's own sentence.
var rows = []Row{
	{replica.ErrSignIn, "sign-in-needed", http.StatusUnauthorized, 4},
	{replica.ErrRevoked, "device-revoked", http.StatusForbidden, 4},
	{replica.ErrUnreachable, "unreachable", http.StatusBadGateway, 5},
	{replica.ErrBusy, "busy", http.StatusServiceUnavailable, 1},
	{replica.ErrSlowDown, "slow-down", http.StatusTooManyRequests, 1},
	{replica.ErrNoSpace, "no-space", http.StatusInsufficientStorage, 1},
	{replica.ErrQuota, "photo-quota", http.StatusInsufficientStorage, 1},
	{replica.ErrNoJob, "no-such-job", http.StatusNotFound, 2},
	{replica.ErrErased, "photo-erased", http.StatusGone, 2},
	{jobs.ErrNotFound, "not-found", http.StatusNotFound, 2},
	{jobs.ErrAmbiguous, "ambiguous", http.StatusConflict, 2},
	{jobs.ErrRefused, "refused", http.StatusUnprocessableEntity, 2},
	{replica.ErrNotEnrolled, "not-enrolled", http.StatusConflict, 2},
	{replica.ErrNoHome, "no-home", http.StatusConflict, 2},
	{replica.ErrInsecure, "insecure", http.StatusBadRequest, 2},
	{replica.ErrBadFrame, "bad-frame", http.StatusBadRequest, 1},
	{replica.ErrNotCanonical, "not-canonical", http.StatusBadRequest, 1},
	{replica.ErrBadHash, "bad-hash", http.StatusUnprocessableEntity, 1},
	{replica.ErrBadSeal, "bad-seal", http.StatusUnprocessableEntity, 1},
	{replica.ErrChain, "chain-broken", http.StatusUnprocessableEntity, 1},
	{replica.ErrExpectedRun, "expected-run", http.StatusConflict, 1},
	{replica.ErrLaneForked, "lane-forked", http.StatusConflict, 1},
	{replica.ErrRunForked, "run-forked", http.StatusConflict, 1},
	{replica.ErrEntryDiffers, "entry-differs", http.StatusConflict, 1},
	{replica.ErrEpochChanged, "epoch-changed", http.StatusConflict, 1},
	{replica.ErrTooLarge, "too-large", http.StatusRequestEntityTooLarge, 2},
	{replica.ErrTooOld, "protocol-too-old", http.StatusUpgradeRequired, 1},
	{replica.ErrReceipt, "bad-receipt", http.StatusBadGateway, 1},
	{replica.ErrDiverged, "diverged", http.StatusConflict, 1},
	{replica.ErrSuperseded, "superseded", http.StatusConflict, 1},
	{replica.ErrBroken, "record-changed", http.StatusInternalServerError, 1},
	{jobs.ErrHash, "hash-differs", http.StatusUnprocessableEntity, 1},
}

// Rows lists the table, for documentation and tests.
func Rows() []Row { return append([]Row(nil), rows...) }

// Exit is the exit code of a command that ends with err.
func Exit(err error) int {
	if err == nil {
		return 0
	}
	if row, ok := find(err); ok {
		return row.Exit
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		return 2
	}
	return 1
}

// ProblemOf turns an error into the document that the server answers with. For an error that is not in the table
// known is false: the document is a bare 500 without any inner text, the caller logs err and fills in InstanceID.
func ProblemOf(err error) (p Problem, known bool) {
	if row, ok := find(err); ok {
		p = Problem{Type: "/problems/" + row.Name, Title: row.Err.Error(), Status: row.Status}
		var ref *replica.Refusal
		if errors.As(err, &ref) {
			p.Detail, p.NextRun, p.Job, p.Seq, p.H = ref.Says, ref.NextRun, ref.Job, ref.Seq, ref.H
			p.Epoch, p.ForkN, p.RetryAfter = ref.Epoch, ref.ForkN, int(ref.RetryAfter.Seconds())
		}
		var rule *jobs.RuleError
		if errors.As(err, &rule) {
			p.Detail = rule.Says
		}
		if p.RetryAfter == 0 && (row.Status == http.StatusServiceUnavailable || row.Status == http.StatusTooManyRequests) {
			p.RetryAfter = 1
		}
		return p, true
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		return Problem{Type: "/problems/bad-input", Title: "something given is not as it should be",
			Status: http.StatusUnprocessableEntity, Detail: in.Error(), Field: in.Field}, true
	}
	return Problem{Type: "/problems/internal", Title: "something went wrong here; nothing was changed",
		Status: http.StatusInternalServerError}, false
}

// Err reads the table backwards: the error that the server meant. A document of no known type is by its status: what
// says "later" is ErrBusy, all else is an error without a sentinel.
func (p Problem) Err() error {
	if p.Type == "/problems/bad-input" {
		return &jobs.InputError{Field: p.Field, Value: "refused by the server", Hint: p.Detail}
	}
	for _, row := range rows {
		if p.Type == "/problems/"+row.Name {
			return &replica.Refusal{Err: row.Err, Says: p.Detail, NextRun: p.NextRun, Job: p.Job, Seq: p.Seq, H: p.H,
				Epoch: p.Epoch, ForkN: p.ForkN, RetryAfter: time.Duration(p.RetryAfter) * time.Second}
		}
	}
	if p.Status == http.StatusServiceUnavailable {
		return &replica.Refusal{Err: replica.ErrBusy, Says: p.Title, RetryAfter: time.Duration(p.RetryAfter) * time.Second}
	}
	return &ServerError{Problem: p}
}

// ServerError is an answer that this program has no better name for.
type ServerError struct{ Problem Problem }

// Error says it in the words of the answer.
func (e *ServerError) Error() string {
	b, err := json.Marshal(e.Problem.Title)
	if err != nil {
		return "the server answered with an error"
	}
	says := "the server answered " + http.StatusText(e.Problem.Status) + ": " + string(b)
	if e.Problem.InstanceID != "" {
		says += " (" + e.Problem.InstanceID + ")"
	}
	return says
}

func find(err error) (Row, bool) {
	for _, row := range rows {
		if errors.Is(err, row.Err) {
			return row, true
		}
	}
	return Row{}, false
}
