package replica

import (
	"cmp"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"slices"

	"tacet/jobs"
)

const accessPrefix = "tacet access 1\n"

// What an Access is about.
const (
	AccessDevice = "device" // a device of the company
	AccessPerson = "person" // a person of the company
	AccessJobs   = "jobs"   // whether a person sees every job that nothing else is said of
	AccessJob    = "job"    // whether a person sees one job
)

// Access is the server's word on who may what. It is signed with the key that every device has pinned, and needs no place in
// a lane or in the log: after the server was restored from an old backup, whoever brings it back proves it, in any order and
// as often as they like, and the latest word on the same thing counts.
type Access struct {
	Co   string `json:"co"`
	What string `json:"what"`
	ID   string `json:"id"`            // of the device or person
	Job  string `json:"job,omitempty"` // with AccessJob
	May  bool   `json:"may"`
	At   int64  `json:"at"` // server clock, ms
	Sig  []byte `json:"sig"`
}

func (a Access) signed() ([]byte, error) {
	return signable(accessPrefix, map[string]any{"co": a.Co, "what": a.What, "id": a.ID, "job": a.Job, "may": a.May, "at": a.At})
}

// Sign puts the server's signature on it.
func (a *Access) Sign(key ed25519.PrivateKey) error {
	m, err := a.signed()
	if err != nil {
		return fmt.Errorf("sign access: %w", err)
	}
	a.Sig = ed25519.Sign(key, m)
	return nil
}

// Verify tells whether it is the word of the holder of key.
func (a Access) Verify(key ed25519.PublicKey) bool { return verify(key, a.signed, a.Sig) }

// about is what the latest word counts on.
type about struct{ what, id, job string }

func (a Access) about() about { return about{a.What, a.ID, a.Job} }

// MaxAccess is how many of them one message may carry.
const MaxAccess = 10_000

// saysCutOff is why an entry is taken out again that came while nobody knew that its device had been revoked.
const saysCutOff = "its device had been cut off when this came: the server was restored from a backup that did not know"

// Heed takes over what was said about access, here or before the server went back in time. Only what is signed by this
// server's key and newer than what is known counts; that is returned. A device that was cut off is cut off again, and what the
// server took from it meanwhile is held for the supervisor.
func (r *Replica) Heed(ctx context.Context, co string, list []Access) (fresh []Access, err error) {
	pub := r.publicKey()
	if len(list) > MaxAccess {
		return nil, ErrTooLarge
	}
	for _, a := range list {
		if a.Co != co || !a.Verify(pub) {
			return nil, refuse(ErrBadSeal, "what is said about access is not signed by this server")
		}
	}
	err = r.store.Write(ctx, co, func(tx Tx) error {
		if fresh, err = newer(tx, list); err != nil || len(fresh) == 0 {
			return err
		}
		if err := tx.PutAccess(fresh); err != nil {
			return err
		}
		for _, a := range fresh {
			if a.What != AccessDevice || a.May {
				continue
			}
			if err := r.cutOff(tx, co, a); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("heed what was said about access: %w", err)
	}
	r.forgetAll()
	return fresh, nil
}

// newer leaves out what is known already, or was said otherwise later.
func newer(tx Tx, list []Access) ([]Access, error) {
	known, err := tx.Access()
	if err != nil {
		return nil, err
	}
	at := map[about]int64{}
	for _, a := range known {
		at[a.about()] = a.At
	}
	latest := map[about]Access{}
	for _, a := range list {
		if before, said := at[a.about()]; said && before >= a.At {
			continue
		}
		if b, said := latest[a.about()]; !said || b.At < a.At {
			latest[a.about()] = a
		}
	}
	fresh := make([]Access, 0, len(latest))
	for _, a := range latest {
		fresh = append(fresh, a)
	}
	sortAccess(fresh)
	return fresh, nil
}

func sortAccess(list []Access) {
	slices.SortFunc(list, func(a, b Access) int {
		return cmp.Or(cmp.Compare(a.What, b.What), cmp.Compare(a.ID, b.ID), cmp.Compare(a.Job, b.Job))
	})
}

// cutOff makes sure that a device is revoked, and withdraws what was taken from it since.
func (r *Replica) cutOff(tx Tx, co string, a Access) error {
	d, err := tx.Device(a.ID)
	if errors.Is(err, jobs.ErrNotFound) {
		return nil // it was enrolled after the backup was made, and is not known any more
	}
	if err != nil || d.Revoked != 0 {
		return err
	}
	d.Revoked = a.At
	if err := tx.PutDevice(d); err != nil {
		return err
	}
	list, err := tx.From(a.ID, 1)
	if err != nil {
		return err
	}
	l, err := r.ledger(tx)
	if err != nil {
		return err
	}
	for _, s := range list {
		if s.State != Standing || s.At <= a.At {
			continue
		}
		l.kept[s.Hash] = &s
		l.act(ActWithdraw, &s, saysCutOff)
	}
	if len(l.acts) == 0 {
		return nil
	}
	return l.save(r, co, nil, nil)
}

// ledger begins to gather acts at the end of the log.
func (r *Replica) ledger(tx Tx) (*ledger, error) {
	seq, err := tx.Seq()
	return &ledger{tx: tx, seq: seq, now: ms(r.now()), fresh: map[jobs.Hash]*Stored{}, kept: map[jobs.Hash]*Stored{}, marks: map[string]*markChange{}}, err
}

// Statements lists what is known about access in a company.
func (r *Replica) Statements(ctx context.Context, co string) (list []Access, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		list, err = tx.Access()
		return err
	})
	return list, err
}

// accessSum is a short name for what was said about access and what a device sees: when it differs from the one a device
// has, it asks.
func accessSum(list []Access, s Sight) string {
	if len(list) == 0 && s.All {
		return ""
	}
	sortAccess(list)
	d := sha256.New()
	for _, a := range list {
		d.Write(a.Sig)
	}
	fmt.Fprintf(d, "%t\n", s.All)
	if !s.All {
		for _, j := range s.Jobs {
			fmt.Fprintln(d, j.Job)
		}
	}
	return base64.RawURLEncoding.EncodeToString(d.Sum(nil)[:18])
}
