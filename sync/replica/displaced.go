package replica

// saysDisplaced is why an entry of a lost log lies aside.
const saysDisplaced = "a restored server has lost it, and another entry stands at its place; its author issued it again"

// makeRoom moves aside what stood in a log that the server has lost, where the log that is there now has another entry at
// the same place or number: the device had been copied, and the other copy came first after the restore. Its author finds
// that out too and issues it again.
func (r *Replica) makeRoom(tx Tx, own string, fresh []Stored, marks map[string]*markChange) error {
	var waiting []Stored
	for _, s := range []State{ToConfirm, Held, Refused} {
		part, err := tx.InState(s, own, MaxBatch*20)
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
	for _, s := range waiting {
		if first, ok := from[s.Dev]; ok && s.Run >= first {
			left = append(left, Aside{Entry: s.Entry, Why: WhyForked, At: ms(r.now()), State: AsideAdmitted, Says: saysDisplaced})
			if marks[s.Job] == nil {
				marks[s.Job] = &markChange{}
			}
			marks[s.Job].refolds = true
		}
	}
	return tx.Leave(left)
}
