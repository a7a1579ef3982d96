package replica

import (
	"cmp"
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"

	"tacet/jobs"
)

// NotProved is what no verification can show, in the words in which the programs say it.
const NotProved = "Proved: without the device's key nobody changed, removed or reordered what stands before a seal, and the server " +
	"had it at the time of the receipt. Not proved: that a record is true; what was recorded since the last seal; anything done with the device's own key; " +
	"that nothing newer was there: a whole file put back to an older state is sound in itself, and only another device or the server tells."

// Proof is what Prove has checked of a job.
type Proof struct {
	Entries  int
	Lanes    int
	Seals    int
	Receipts int
	Unsealed int // entries behind the last seal of their lane
	NoBody   int // held back or erased: the chain holds, the text is not here
}

// Verify checks a job's entries against their bytes: chain, hashes, bodies, seals, receipts. The error names the first
// that is not right.
func (r *Replica) Verify(ctx context.Context, co, job string) error {
	_, err := r.Prove(ctx, co, job)
	return err
}

// Prove is Verify with the figures.
func (r *Replica) Prove(ctx context.Context, co, job string) (Proof, error) {
	var p Proof
	err := r.store.Read(ctx, co, func(tx Tx) error {
		list, err := tx.Entries(job, 0)
		if err != nil {
			return err
		}
		m, err := tx.Mark(job)
		if err != nil {
			return err
		}
		if len(list) == 0 && m.Total > 0 {
			return refuse(ErrBroken, "job %s: none of its %d entries is here", job, m.Total)
		}
		if len(list) == 0 {
			return ErrNoJob
		}
		seals, err := tx.SealsOf(job)
		if err != nil {
			return err
		}
		server, err := r.serverKey(tx)
		if err != nil {
			return err
		}
		p, err = ProveEntries(co, job, list, seals, func(dev string) (ed25519.PublicKey, error) {
			d, err := tx.Device(dev)
			return d.Key, err
		}, server)
		if err != nil {
			return err
		}
		return tally(m, list)
	})
	return p, err
}

// ProveEntries checks a job's entries and the seals on them wherever they come from. Key gives the public key of a device;
// receipts are checked and counted where the server's key is given.
func ProveEntries(co, job string, list []Stored, seals []Seal, key func(dev string) (ed25519.PublicKey, error), server ed25519.PublicKey) (Proof, error) {
	var p Proof
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b Stored) int { return cmp.Or(cmp.Compare(a.Dev, b.Dev), cmp.Compare(a.Seq, b.Seq)) })
	if err := p.chain(co, job, list); err != nil {
		return p, err
	}
	return p, p.seals(list, seals, key, server)
}

// chain checks each lane from its first entry on.
func (p *Proof) chain(co, job string, list []Stored) error {
	var before Stored
	for i, s := range list {
		broken := func(says string) error {
			return refuse(ErrBroken, "entry %s, place %d of the lane of device %s: %s", s.ID, s.Seq, s.Dev, says)
		}
		e, err := jobs.ParseEntry(s.Env, s.Data)
		if err != nil {
			return broken(err.Error())
		}
		if i == 0 || s.Dev != before.Dev {
			p.Lanes++
			before = Stored{}
		}
		switch {
		case e.Hash != s.Hash:
			return broken("its bytes have another hash")
		case s.Misfiled:
			return broken("it is filed under another place than it has")
		case e.Co != co || e.Job != job:
			return broken("it is of another company or job")
		case e.Seq != before.Seq+1:
			return broken(fmt.Sprintf("place %d is missing before it", before.Seq+1))
		case e.Prev != before.Hash:
			return broken("it does not follow the entry before it")
		case e.Run <= before.Run:
			return broken("its number does not follow")
		}
		p.Entries++
		if s.Data == nil {
			p.NoBody++
		}
		before = s
	}
	return nil
}

func (p *Proof) seals(list []Stored, seals []Seal, key func(dev string) (ed25519.PublicKey, error), server ed25519.PublicKey) error {
	type place struct {
		dev string
		seq int64
	}
	at := map[place]Stored{}
	for _, s := range list {
		at[place{s.Dev, s.Seq}] = s
	}
	sealed := map[string]int64{}
	for _, s := range seals {
		broken := func(says string) error {
			return refuse(ErrBroken, "the seal on place %d of the lane of device %s: %s", s.Seq, s.Dev, says)
		}
		e, ok := at[place{s.Dev, s.Seq}]
		if !ok {
			return broken("the sealed entry is missing")
		}
		deviceKey, err := key(s.Dev)
		if err != nil {
			return err
		}
		switch {
		case e.Hash != s.H || e.Run != s.Run:
			return broken("another entry stands there")
		case !s.Verify(deviceKey):
			return broken("the signature is not by the device's key")
		}
		p.Seals++
		sealed[s.Dev] = max(sealed[s.Dev], s.Seq)
		if rec := s.Receipt; rec != nil && server != nil {
			if !rec.covers(s) || !rec.Verify(server) {
				return broken("its receipt is not by the server's key")
			}
			p.Receipts++
		}
	}
	for _, s := range list {
		if s.Seq > sealed[s.Dev] {
			p.Unsealed++
		}
	}
	return nil
}

// serverKey is the key that receipts are checked with; nil at a server, which signs them when asked, and in a home that
// is not enrolled, which has none.
func (r *Replica) serverKey(tx Tx) (ed25519.PublicKey, error) {
	if r.authority {
		return nil, nil
	}
	me, err := tx.Me()
	if errors.Is(err, ErrNoHome) {
		return nil, nil
	}
	return me.ServerKey, err
}

// VerifyLog recomputes the chain of a company's log at the server, checks that each act is about the entry whose hash it
// names, and compares every job's digest with what stands.
func (r *Replica) VerifyLog(ctx context.Context, co string) (acts int64, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		seq, err := tx.Seq()
		if err != nil {
			return err
		}
		var head jobs.Hash
		last := map[jobs.Hash]Act{}
		for acts < seq.N {
			page, err := tx.Acts(acts, MaxActs, MaxPage)
			if err != nil {
				return err
			}
			if len(page) == 0 {
				return refuse(ErrBroken, "the log ends at %d, %d acts were written", acts, seq.N)
			}
			for _, a := range page {
				head = NextHead(head, acts+1, a.Act, a.H)
				if a.N != acts+1 || a.Head != head || jobs.HashEnvelope(a.Env) != a.H {
					return refuse(ErrBroken, "act %d of the log of company %s", acts+1, co)
				}
				acts = a.N
				a.Raw = Raw{}
				last[a.H] = a
			}
		}
		if head != seq.Head || acts != seq.N {
			return refuse(ErrBroken, "the head of the log of company %s", co)
		}
		if err := follows(tx, last); err != nil {
			return err
		}
		return recount(tx)
	})
	return acts, err
}

// follows checks that every entry stands where the log says, and that the log speaks of every entry.
func follows(tx Tx, last map[jobs.Hash]Act) error {
	marks, err := tx.Marks(-1)
	if err != nil {
		return err
	}
	seen := 0
	for _, m := range marks {
		list, err := tx.Entries(m.Job, 0)
		if err != nil {
			return err
		}
		for _, s := range list {
			a, spoken := last[s.Hash]
			if !spoken || a.Job != s.Job || after(a.Act) != s.State || a.N != s.N {
				return refuse(ErrBroken, "entry %s does not stand where the log says", s.ID)
			}
			seen++
		}
	}
	if seen != len(last) {
		return refuse(ErrBroken, "the log speaks of %d entries, %d are here", len(last), seen)
	}
	return nil
}
