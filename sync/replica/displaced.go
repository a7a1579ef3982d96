package replica

import (
	"cmp"
	"errors"
	"slices"

	"tacet/jobs"
)

// saysDisplaced is why an entry of a lost log lies aside.
const saysDisplaced = "a restored server has lost it, and another entry stands at its place; its author issued it again"

// makeRoom moves aside what stood in a log that the server has lost, where the log that is there now has another entry at
// the same place or number: the device had been copied, and the other copy came first after the restore. Its author finds
// that out too and issues it again. So does this device with what it wrote under an id that it had before: when it took its
// present one, that still had its place.
func (r *Replica) makeRoom(tx Tx, own *Device, fresh []Stored, marks map[string]*markChange) error {
	var waiting []Stored
	for _, s := range []State{ToConfirm, Held, Refused} {
		part, err := tx.InState(s, own.ID, MaxBatch*20)
		if err != nil {
			return err
		}
		for _, e := range part {
			if e.unplaced() {
				waiting = append(waiting, e)
			}
		}
	}
	if len(waiting) == 0 {
		return nil
	}
	type number struct {
		dev string
		run int64
	}
	places, runs := map[LaneID]map[int64]bool{}, map[number]bool{}
	for _, e := range fresh {
		id := LaneID{e.Dev, e.Job}
		if places[id] == nil {
			places[id] = map[int64]bool{}
		}
		places[id][e.Seq], runs[number{e.Dev, e.Run}] = true, true
	}
	from := map[string]int64{} // by device, the first number that is taken: all behind it continues what is gone
	for _, s := range waiting {
		if first, ok := from[s.Dev]; (places[LaneID{s.Dev, s.Job}][s.Seq] || runs[number{s.Dev, s.Run}]) && (!ok || s.Run < first) {
			from[s.Dev] = s.Run
		}
	}
	var left []Aside
	var again []Stored
	for _, s := range waiting {
		first, ok := from[s.Dev]
		if !ok || s.Run < first {
			continue
		}
		mine, err := formerly(tx, *own, s.Dev)
		if err != nil {
			return err
		}
		if mine {
			again = append(again, s)
			continue
		}
		left = append(left, Aside{Entry: s.Entry, Why: WhyForked, At: ms(r.now()), State: AsideAdmitted, Says: saysDisplaced})
		if marks[s.Job] == nil {
			marks[s.Job] = &markChange{}
		}
		marks[s.Job].refolds = true
	}
	if err := tx.Leave(left); err != nil || len(again) == 0 {
		return err
	}
	p, err := r.pen(tx, again[0].Co)
	if err != nil {
		return err
	}
	p.dev = *own
	slices.SortFunc(again, func(a, b Stored) int { return cmp.Or(cmp.Compare(a.Clk, b.Clk), cmp.Compare(a.Run, b.Run)) })
	err = r.issueAgain(p, again)
	*own = p.dev
	return err
}

// formerly tells whether a device has had another id before.
func formerly(tx Tx, d Device, id string) (bool, error) {
	for d.Was != "" {
		if d.Was == id {
			return true, nil
		}
		var err error
		if d, err = tx.Device(d.Was); errors.Is(err, jobs.ErrNotFound) {
			return false, nil
		} else if err != nil {
			return false, err
		}
	}
	return false, nil
}
