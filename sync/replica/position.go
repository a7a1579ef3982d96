package replica

import (
	"errors"

	"tacet/jobs"
)

// position gives new entries their places in the company's log, as the server: each stands, or is held with a reason
// (by hash); of those held, what a supervisor has refused already is refused. What a supervisor says of entries that are
// held takes effect here too, in the same transaction. It saves entries, acts, digests and seals, and writes the end of the
// log, all under the company's lock: commits come in the order of positions, so no reader ever meets a hole.
func (r *Replica) position(tx Tx, co string, rows []Stored, held, refused map[jobs.Hash]string, seals []Seal) (Seq, error) {
	seq, err := tx.Seq()
	if err != nil {
		return seq, err
	}
	now := ms(r.now())
	if seq.Epoch == "" {
		if seq.Epoch, err = r.newEpoch(); err != nil {
			return seq, err
		}
		if err := tx.PutEpoch(Epoch{ID: seq.Epoch, FirstN: seq.N + 1, Cause: "the company's first entry", At: now}); err != nil {
			return seq, err
		}
	}
	l := ledger{tx: tx, seq: seq, now: now, fresh: map[jobs.Hash]*Stored{}, kept: map[jobs.Hash]*Stored{}, marks: map[string]*markChange{}}
	for i := range rows {
		e := &rows[i]
		e.At = now
		l.fresh[e.Hash] = e
		if why, no := held[e.Hash]; no {
			l.act(ActHold, e, why)
		} else {
			l.act(ActStand, e, "")
		}
		if why, no := refused[e.Hash]; no {
			l.act(ActRefuse, e, why)
		}
		if e.State == Standing {
			if err := l.answer(e.Entry); err != nil {
				return seq, err
			}
		}
	}
	return l.seq, l.save(r, co, rows, seals)
}

// ledger gathers the acts of one transaction.
type ledger struct {
	tx    Tx
	seq   Seq
	now   int64
	acts  []Act
	fresh map[jobs.Hash]*Stored // not inserted yet
	kept  map[jobs.Hash]*Stored // that were there and are answered
	marks map[string]*markChange
}

// act adds one act to the log and moves the entry to the state that it means.
func (l *ledger) act(act string, e *Stored, says string) {
	a := Act{N: l.seq.N + 1, Act: act, H: e.Hash, Job: e.Job, At: l.now, Says: says}
	a.Head = NextHead(l.seq.Head, a.N, a.Act, a.H)
	l.seq.N, l.seq.Head = a.N, a.Head
	l.acts = append(l.acts, a)
	m := l.marks[e.Job]
	if m == nil {
		m = &markChange{}
		l.marks[e.Job] = m
	}
	m.n = a.N
	m.move(e.State, after(act), e.Hash)
	e.State, e.N, e.Says = after(act), a.N, says
}

// answer does what an admission says: what is held is admitted or refused, and what was refused may still be admitted.
func (l *ledger) answer(e jobs.Entry) error {
	if e.Kind != "admission" {
		return nil
	}
	for _, h := range e.Refers(jobs.Sees) {
		target, err := l.find(h)
		if errors.Is(err, jobs.ErrNotFound) {
			continue // it is judged by this answer when it comes
		}
		if err != nil {
			return err
		}
		answer, reason := e.AnswerTo(target.Entry)
		if target.Job != e.Job {
			continue
		}
		switch {
		case answer == jobs.AnswerAdmit && (target.State == Held || target.State == Refused):
			l.act(ActAdmit, target, reason)
		case answer == jobs.AnswerRefuse && target.State == Held:
			l.act(ActRefuse, target, reason)
		}
	}
	return nil
}

func (l *ledger) find(h jobs.Hash) (*Stored, error) {
	if s := l.fresh[h]; s != nil {
		return s, nil
	}
	if s := l.kept[h]; s != nil {
		return s, nil
	}
	s, err := l.tx.Entry(h)
	if err == nil {
		l.kept[h] = &s
	}
	return &s, err
}

func (l *ledger) save(r *Replica, co string, rows []Stored, seals []Seal) error {
	if err := l.tx.Insert(rows); err != nil {
		return err
	}
	for _, s := range l.kept {
		if err := l.tx.SetState(s.Hash, s.State, s.N, s.Says); err != nil {
			return err
		}
	}
	for _, list := range []map[jobs.Hash]*Stored{l.fresh, l.kept} {
		for _, s := range list {
			if s.State != Standing {
				continue
			}
			if r.erasing != nil && len(s.Erases())+len(s.ErasesPhotos()) > 0 {
				if err := r.erasing(s.Entry); err != nil {
					return err
				}
			}
			if len(s.ErasesPhotos()) > 0 {
				r.noteErased(co)
			}
			gone, err := dropKeys(l.tx, s.Entry)
			if err != nil {
				return err
			}
			if m := l.marks[s.Job]; m != nil && gone {
				m.refolds = true
			}
		}
	}
	if err := l.tx.Log(l.acts); err != nil {
		return err
	}
	for job, m := range l.marks {
		if err := m.save(l.tx, job); err != nil {
			return err
		}
	}
	if err := r.keepSeals(l.tx, co, l.seq, l.now, seals); err != nil {
		return err
	}
	return l.tx.SetSeq(l.seq)
}

// keepSeals notes with each seal what its receipt will say. The receipt itself is signed after the commit, when it is
// true.
func (r *Replica) keepSeals(tx Tx, co string, seq Seq, now int64, seals []Seal) error {
	for i := range seals {
		s := &seals[i]
		at, err := tx.At(s.Dev, s.Job, s.Seq)
		if err != nil {
			return err
		}
		s.Receipt = &Receipt{Co: co, Epoch: seq.Epoch, N: at.N, Dev: s.Dev, Job: s.Job, Seq: s.Seq, H: s.H, At: now}
	}
	return tx.PutSeals(seals)
}
