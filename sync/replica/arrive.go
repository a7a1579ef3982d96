package replica

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tacet/jobs"
)

// narrowMark begins what a home notes of access while something is kept from it; what it followed last comes behind it.
const narrowMark = "narrow "

// gapMark stands between the two, with a position, while acts behind that position were left out and it is not known yet of which jobs:
// "narrow ?17 SUM". What is here of a job that has changed since may lack some of them, be they of entries that stand or are held.
const gapMark = "?"

// followed is what was said about access and followed last.
func (m Me) followed() string {
	_, sum := m.gap()
	return sum
}

// gap tells behind which position acts may have been left out; -1: none were but of jobs that are known to be kept.
func (m Me) gap() (since int64, followed string) {
	rest := strings.TrimPrefix(m.Access, narrowMark)
	if !m.narrow() || !strings.HasPrefix(rest, gapMark) {
		return -1, rest
	}
	at, sum, _ := strings.Cut(strings.TrimPrefix(rest, gapMark), " ")
	since, err := strconv.ParseInt(at, 10, 64)
	if err != nil {
		return 0, "" // a home of before this was kept: from the beginning
	}
	return since, sum
}

// noteGap notes, with a page that is taken over, what may have been left out of it.
func (m *Me) noteGap(p Page) {
	since, followed := m.gap()
	if !m.narrow() {
		followed = "" // nothing was kept from it
	}
	switch {
	case !p.More && followed != "" && p.Access == followed:
		if since >= 0 { // nothing was said meanwhile: what was left out is of jobs that are known to be kept
			m.Access = narrowMark + followed
		}
	case p.Narrow && p.Cursor.N-m.Cursor.N > int64(len(p.Acts)):
		if since < 0 || m.Cursor.N < since {
			since = m.Cursor.N
		}
		m.Access = fmt.Sprintf("%s%s%d %s", narrowMark, gapMark, since, followed)
	}
}

// unsure tells whether a page may be about jobs of which something was kept from this device: what was said about access since is not
// followed yet.
func (m Me) unsure(p Page) bool { return m.narrow() && p.Access != m.followed() }

func (m Me) narrow() bool { return strings.HasPrefix(m.Access, narrowMark) }

func (r *Replica) setAccess(sum string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.access = sum
}

// whole leaves out the acts on jobs that are here in part, and the seals on them, other than on this device's own entries. A job of which nothing is
// here, and which a device sees that does not see all, may have begun long ago: it arrives by its history. So does one of a lane of
// which something was left out while the job was kept from this device.
func whole(tx Tx, co, own string, p Page, es []jobs.Entry, narrow bool) (Page, []jobs.Entry, error) {
	parts, err := tx.Parts()
	if err != nil || len(parts) == 0 && !narrow {
		return p, es, err
	}
	missing := map[string]bool{}
	for _, part := range parts {
		missing[part.Job] = true
	}
	lanes := laneEnds{}
	var acts []Act
	var kept []jobs.Entry
	for i, a := range p.Acts {
		if others := es[i].Dev != own; others && narrow && a.Job != co && !missing[a.Job] {
			ok, err := lanes.follows(tx, es[i])
			if err != nil {
				return p, es, err
			}
			if missing[a.Job] = !ok; !ok {
				if err := tx.PutPart(Part{Job: a.Job, State: PartArriving}); err != nil {
					return p, es, err
				}
			}
		}
		if missing[a.Job] && es[i].Dev != own {
			continue
		}
		acts, kept = append(acts, a), append(kept, es[i])
	}
	p.Acts = acts
	p.Seals = slices.DeleteFunc(slices.Clone(p.Seals), func(s Seal) bool { return missing[s.Job] && s.Dev != own })
	return p, kept, nil
}

// laneEnds are the last places of lanes, as far as they were looked up.
type laneEnds map[LaneID]int64

// follows tells whether an entry of a job of which something is here stands where its lane has got to, or is here.
func (l laneEnds) follows(tx Tx, e jobs.Entry) (bool, error) {
	id := LaneID{e.Dev, e.Job}
	if _, asked := l[id]; !asked {
		if m, err := tx.Mark(e.Job); err != nil || m.Total == 0 {
			return false, err
		}
		end, err := tx.Lane(e.Dev, e.Job)
		if err != nil {
			return false, err
		}
		l[id] = end.Seq
	}
	if e.Seq > l[id]+1 {
		return false, nil
	}
	l[id] = max(l[id], e.Seq)
	return true, nil
}

// followAccess asks what was said about access if it is not what was followed last. It tells the server what it does not know
// any more, and notes which jobs are no longer updated and which are to arrive.
func (r *Replica) followAccess(ctx context.Context, t Transport) error {
	me, err := r.home(ctx)
	if err != nil {
		return err
	}
	r.mu.Lock()
	sum := r.access
	r.mu.Unlock()
	if since, followed := me.gap(); since < 0 && sum == followed {
		return nil
	}
	return r.askAccess(ctx, t, me)
}

func (r *Replica) askAccess(ctx context.Context, t Transport, me Me) error {
	for range 2 {
		a, err := t.Access(ctx)
		if err != nil {
			return fmt.Errorf("ask about access: %w", err)
		}
		for _, s := range a.Access {
			if s.Co != me.Company || !s.Verify(me.ServerKey) {
				return refuse(ErrReceipt, "what the server says about access is not signed by it")
			}
		}
		var back []Access
		err = r.store.Write(ctx, me.Company, func(tx Tx) error {
			fresh, err := newer(tx, a.Access)
			if err != nil {
				return err
			}
			if err := tx.PutAccess(fresh); err != nil {
				return err
			}
			if back, err = lacks(tx, a.Access); err != nil || len(back) > 0 {
				return err // what it sees is asked again once the server knows
			}
			return r.follow(tx, a)
		})
		if err != nil || len(back) == 0 {
			return err
		}
		if err := t.BringAccess(ctx, back); err != nil {
			return fmt.Errorf("bring back what was said about access: %w", err)
		}
	}
	return nil // another device was faster, or will be
}

// lacks lists what is known here and was not in the server's list, or in an older word.
func lacks(tx Tx, theirs []Access) ([]Access, error) {
	known, err := tx.Access()
	if err != nil {
		return nil, err
	}
	at := map[about]int64{}
	for _, a := range theirs {
		at[a.about()] = a.At
	}
	return slices.DeleteFunc(known, func(a Access) bool {
		theirs, said := at[a.about()]
		return said && theirs >= a.At
	}), nil
}

// follow notes what the answer means for the jobs that are here.
func (r *Replica) follow(tx Tx, a AccessAnswer) error {
	me, err := tx.Me()
	if err != nil {
		return err
	}
	wasNarrow := me.narrow()
	since, _ := me.gap()
	if me.Access = a.Sum; !a.Sight.All {
		me.Access = narrowMark + a.Sum
	}
	parts, err := tx.Parts()
	if err != nil {
		return err
	}
	state := map[string]string{}
	for _, p := range parts {
		state[p.Job] = p.State
	}
	shown := map[string]bool{me.Company: true}
	for _, d := range a.Sight.Jobs {
		shown[d.Job] = true
		m, err := tx.Mark(d.Job)
		if err != nil {
			return err
		}
		unknown := m.Total == 0 && state[d.Job] == "" && (wasNarrow || !a.Sight.All) && d.Job != me.Company
		// what this device recorded itself is here of a job that was kept from it, and nothing else
		lacks := wasNarrow && state[d.Job] == "" && m.Total > 0 && d.Job != me.Company && (m.Count != d.Count || m.Sum != d.Sum)
		arriving := Part{Job: d.Job, State: PartArriving, Of: d.Count}
		switch {
		case state[d.Job] == PartEnded || unknown || lacks:
			err = tx.PutPart(arriving)
		case since >= 0 && d.N > since && state[d.Job] == "" && d.Job != me.Company:
			arriving.Upto = since // all before is here
			err = tx.PutPart(arriving)
		}
		if err != nil {
			return err
		}
	}
	if !a.Sight.All {
		if err := r.endSight(tx, shown, state); err != nil {
			return err
		}
	}
	return tx.PutMe(me)
}

// endSight marks what is here and is not shown any more. What only this device knows of is not among it.
func (r *Replica) endSight(tx Tx, shown map[string]bool, state map[string]string) error {
	for job, s := range state {
		if s == PartArriving && !shown[job] {
			if err := errors.Join(tx.DropArriving(job), tx.DropPart(job)); err != nil {
				return err
			}
			state[job] = ""
		}
	}
	marks, err := tx.Marks(-1)
	if err != nil {
		return err
	}
	for _, m := range marks {
		if shown[m.Job] || m.N == 0 || state[m.Job] != "" {
			continue
		}
		if err := tx.PutPart(Part{Job: m.Job, State: PartEnded}); err != nil {
			return err
		}
	}
	return nil
}

// arrive fetches the history of jobs that were shown to this device later than they began, page by page; what was fetched is
// not fetched again. A job is part of the record once all of it is here and was checked: before, nothing of it counts.
func (r *Replica) arrive(ctx context.Context, t Transport, co string, rep *Report) error {
	turn := &turn{r: r, co: co, began: r.now()}
	parts, err := r.Parts(ctx, co)
	if err != nil {
		return err
	}
	for _, p := range parts {
		for p.State == PartArriving {
			done, err := r.arrivePage(ctx, t, &p, rep)
			if errors.Is(err, jobs.ErrNotFound) {
				break // it is not shown any more; what is said about access tells, the next time
			}
			if err != nil {
				return err
			}
			if done {
				break
			}
			if err := turn.over(ctx); err != nil {
				return err
			}
		}
	}
	return nil
}

func (r *Replica) arrivePage(ctx context.Context, t Transport, p *Part, rep *Report) (done bool, err error) {
	me, err := r.home(ctx)
	if err != nil {
		return false, err
	}
	p.Goal = me.Cursor.N
	page, err := t.History(ctx, p.Job, p.Upto, p.Goal, r.spend(&r.pull))
	if err != nil {
		r.failed(&r.pull, err)
		return false, fmt.Errorf("fetch the history of job %s: %w", p.Job, err)
	}
	r.arrived(&r.pull, page.bytes(), true)
	if page.Cursor.N <= p.Upto && page.More || page.Cursor.N > p.Goal {
		return false, refuse(ErrBadFrame, "a page of history that does not go on")
	}
	packed, err := packPage(page)
	if err != nil {
		return false, err
	}
	err = r.store.Write(ctx, me.Company, func(tx Tx) error {
		p.Have += int64(len(page.Acts))
		p.Upto = page.Cursor.N
		p.Of = max(p.Of, p.Have)
		if len(page.Acts) > 0 {
			if err := tx.PutArriving(p.Job, p.Upto, packed); err != nil {
				return err
			}
		}
		now, err := tx.Me()
		if err != nil {
			return err
		}
		if page.More || now.Cursor.N != p.Goal || now.Cursor.Epoch != me.Cursor.Epoch {
			return tx.PutPart(*p)
		}
		done = true
		n, err := r.integrate(tx, me, *p, page.Digests)
		rep.Received += n
		return err
	})
	var ref *Refusal
	if err != nil && errors.As(err, &ref) && !errors.Is(err, ErrUnreachable) {
		// what came is not what it should be: it is fetched anew
		err = errors.Join(err, r.store.Write(ctx, me.Company, func(tx Tx) error {
			return errors.Join(tx.DropArriving(p.Job), tx.PutPart(Part{Job: p.Job, State: PartArriving}))
		}))
	}
	return done, err
}

// integrate makes a job part of the record of which everything has come.
func (r *Replica) integrate(tx Tx, me Me, p Part, digests []Digest) (received int, err error) {
	packed, err := tx.Arriving(p.Job)
	if err != nil {
		return 0, err
	}
	own, _ := r.identity()
	for _, b := range packed {
		page, err := unpackPage(b)
		if err != nil {
			return 0, fmt.Errorf("read what came of job %s: %w", p.Job, err)
		}
		n, err := r.integratePage(tx, me, own, p.Job, page)
		received += n
		if err != nil {
			return 0, err
		}
	}
	if err := errors.Join(tx.DropArriving(p.Job), tx.DropPart(p.Job)); err != nil {
		return 0, err
	}
	list, err := tx.Entries(p.Job, 0)
	if err != nil {
		return 0, err
	}
	if _, err := ProveEntries(me.Company, p.Job, list, nil, nil, nil); err != nil {
		return 0, err
	}
	return received, sameDigests(tx, digests)
}

func (r *Replica) integratePage(tx Tx, me Me, own, job string, page Page) (int, error) {
	if err := checkPageSeals(me, page); err != nil {
		return 0, err
	}
	if err := putDeviceKeys(tx, page.Devices); err != nil {
		return 0, err
	}
	var ids []string
	var es []jobs.Entry
	for _, a := range page.Acts {
		e, err := parse(a.Raw)
		if err != nil {
			return 0, err
		}
		if e.Hash != a.H || e.Co != me.Company || e.Job != job || after(a.Act) == "" {
			return 0, refuse(ErrBadHash, "act %d of the history of job %s is about another entry", a.N, job)
		}
		ids, es = append(ids, e.ID), append(es, e)
	}
	known, err := tx.Known(ids)
	if err != nil {
		return 0, err
	}
	var acts []Act
	var rest []jobs.Entry
	for i, a := range page.Acts {
		if k, here := known[es[i].ID]; here && k.N >= a.N {
			continue // what became of it since is known
		}
		acts, rest = append(acts, a), append(rest, es[i])
	}
	page.Acts = acts
	n, err := r.save(tx, own, page, rest)
	if err != nil {
		return n, err
	}
	return n, tx.PutSeals(page.Seals)
}
