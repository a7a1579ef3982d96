package replica

import (
	"tacet/jobs"
)

// position gives new entries their places in the company's log, as the server: each stands, or is held with a reason
// (by hash). It saves entries, acts, digests and seals, and writes the end of the log, all under the company's lock:
// commits come in the order of positions, so no reader ever meets a hole.
func (r *Replica) position(tx Tx, co string, rows []Stored, held map[jobs.Hash]string, seals []Seal) (Seq, error) {
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
	acts := make([]Act, len(rows))
	stand := map[string][]jobs.Hash{}
	last := map[string]int64{}
	for i := range rows {
		e := &rows[i]
		a := Act{N: seq.N + 1, Act: ActStand, H: e.Hash, Job: e.Job, At: now}
		if why, no := held[e.Hash]; no {
			a.Act, a.Says = ActHold, why
		} else {
			stand[e.Job] = append(stand[e.Job], e.Hash)
		}
		a.Head = NextHead(seq.Head, a.N, a.Act, a.H)
		seq.N, seq.Head = a.N, a.Head
		e.State, e.N, e.At = after(a.Act), a.N, now
		last[e.Job] = a.N
		acts[i] = a
	}
	if err := tx.Insert(rows); err != nil {
		return seq, err
	}
	if err := tx.Log(acts); err != nil {
		return seq, err
	}
	for job, n := range last {
		m, err := tx.Mark(job)
		if err != nil {
			return seq, err
		}
		m.N = n
		for _, h := range stand[job] {
			m.Count++
			m.Sum = plus(m.Sum, h)
		}
		if err := tx.SetMark(m); err != nil {
			return seq, err
		}
	}
	if err := r.keepSeals(tx, co, seq, now, seals); err != nil {
		return seq, err
	}
	return seq, tx.SetSeq(seq)
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
