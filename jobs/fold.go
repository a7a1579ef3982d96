package jobs

import (
	"cmp"
	"container/heap"
	"maps"
	"slices"
)

// NewJob returns a job without entries.
func NewJob(id, company string) *Job {
	j := emptyJob(id, company, 0)
	j.refold()
	return j
}

// emptyJob has room for so many entries and is not yet folded.
func emptyJob(id, company string, entries int) *Job {
	return &Job{ID: id, Company: company, all: make([]*Record, 0, entries), byHash: make(map[Hash]*Record, entries),
		byID: make(map[string]*Record, entries), again: map[Hash][]*Record{}}
}

// Fold returns the job that a set of entries makes. It is a pure function of the set: neither the order of the slice nor
// an entry given twice changes anything.
func Fold(id, company string, entries []Entry) *Job {
	j := emptyJob(id, company, len(entries))
	for _, e := range entries {
		j.take(e)
	}
	j.refold()
	return j
}

// Add folds one more entry in, whenever it arrives: the job is then what [Fold] makes of all its entries.
func (j *Job) Add(e Entry) {
	r := j.take(e)
	if r == nil {
		return
	}
	if len(j.repeat) > 0 || j.repeated(r) || len(j.Records) > 0 && !j.sortsLast(r) {
		j.refold()
		return
	}
	j.file(r)
	j.settle(r.On)
}

// take indexes an entry; nil if it is there already.
func (j *Job) take(e Entry) *Record {
	if _, ok := j.byHash[e.Hash]; ok {
		return nil
	}
	// A body that can't be read stands like one of a newer version: counted, and nothing concluded from it.
	what, _ := open(e)
	return j.index(&Record{Entry: &e, What: what})
}

func (j *Job) index(r *Record) *Record {
	j.all = append(j.all, r)
	j.byHash[r.Hash], j.byID[r.ID] = r, r
	if !r.Was.IsZero() {
		j.again[r.Was] = append(j.again[r.Was], r)
	}
	return r
}

// Clone returns a job of the same entries, to which more can be added while others read this one. The entries and what they say are
// shared, because nobody ever changes them.
func (j *Job) Clone() *Job {
	c := emptyJob(j.ID, j.Company, len(j.all))
	records := make([]Record, len(j.all))
	for i, r := range j.all {
		records[i] = Record{Entry: j.asWritten(r), What: r.What}
		c.index(&records[i])
	}
	c.held = maps.Clone(j.held)
	c.refold()
	return c
}

// sortsLast tells whether r comes behind all that is filed, so that filing it is all there is to do.
func (j *Job) sortsLast(r *Record) bool {
	return len(j.namedBy[r.Hash]) == 0 && !j.awaited[r.Hash] && r.before(j.last) > 0
}

// file gives r its place and hands it to its kind.
func (j *Job) file(r *Record) {
	r.pos = len(j.Records)
	j.Records = append(j.Records, r)
	if r.pos == 0 || r.before(j.last) > 0 {
		j.last = &r.Envelope
	}
	for _, ref := range r.Refs {
		j.namedBy[ref.H] = append(j.namedBy[ref.H], r)
	}
	if !r.Prev.IsZero() && j.byHash[r.Prev] == nil {
		j.awaited[r.Prev] = true
	}
	if r.What == nil {
		j.Unread++
		return
	}
	j.kinds[r.Kind] = append(j.kinds[r.Kind], r)
	r.What.apply(j, r)
}

// refold files everything anew, in fold order.
func (j *Job) refold() {
	j.State = State{Records: make([]*Record, 0, len(j.all)), kinds: map[string][]*Record{}, namedBy: map[Hash][]*Record{}, awaited: map[Hash]bool{}, last: &Envelope{}}
	j.resolve()
	j.all = j.ordered()
	for _, r := range j.all {
		if _, only := j.repeat[r.Hash]; !only {
			j.file(r)
		}
	}
	j.settle(On{})
}

// ordered lists the entries so that each comes behind all that it names and behind its lane's predecessor; what that
// leaves open is decided by clock, device and the device's own number. A wrong clock can so never put an answer before
// its question.
func (j *Job) ordered() []*Record {
	if order, all := j.byClockAlone(); all {
		return order
	}
	waits := make(map[*Record]int, len(j.all))
	behind := make(map[Hash][]*Record, len(j.all))
	ready := make(byClock, 0, len(j.all))
	for _, r := range j.all {
		wait := func(h Hash) {
			if _, here := j.byHash[h]; here {
				waits[r]++
				behind[h] = append(behind[h], r)
			}
		}
		for _, ref := range r.Refs {
			wait(ref.H)
		}
		wait(r.Prev)
		if waits[r] == 0 {
			ready = append(ready, r)
		}
	}
	heap.Init(&ready)
	order := make([]*Record, 0, len(j.all))
	for len(ready) > 0 {
		r := heap.Pop(&ready).(*Record)
		order = append(order, r)
		for _, next := range behind[r.Hash] {
			if waits[next]--; waits[next] == 0 {
				heap.Push(&ready, next)
			}
		}
	}
	// Hashes can't name each other in a ring. Where references are read as others, somebody might have built one: what
	// is left over then comes last.
	if len(order) < len(j.all) {
		left := byClock{}
		for r, n := range waits {
			if n > 0 {
				left = append(left, r)
			}
		}
		slices.SortFunc(left, func(a, b *Record) int { return a.before(&b.Envelope) })
		order = append(order, left...)
	}
	return order
}

// byClockAlone sorts by clock and tells whether that order already puts every entry behind all that it names, as it does
// unless a clock was wrong.
func (j *Job) byClockAlone() ([]*Record, bool) {
	order := slices.Clone(j.all)
	slices.SortFunc(order, func(a, b *Record) int { return a.before(&b.Envelope) })
	for i, r := range order {
		r.pos = i
	}
	behind := func(r *Record, h Hash) bool {
		named, here := j.byHash[h]
		return !here || named.pos < r.pos
	}
	for _, r := range order {
		if !behind(r, r.Prev) || slices.ContainsFunc(r.Refs, func(ref Ref) bool { return !behind(r, ref.H) }) {
			return nil, false
		}
	}
	return order, true
}

type byClock []*Record

func (b byClock) Len() int           { return len(b) }
func (b byClock) Less(i, k int) bool { return b[i].before(&b[k].Envelope) < 0 }
func (b byClock) Swap(i, k int)      { b[i], b[k] = b[k], b[i] }
func (b *byClock) Push(x any)        { *b = append(*b, x.(*Record)) }
func (b *byClock) Pop() any {
	old := *b
	r := old[len(old)-1]
	*b = old[:len(old)-1]
	return r
}

// replaced tells whether, among the records filed before upto, one puts r out of force: a withdrawal or a later record
// that names it, by the same person or a supervisor, or a ruling that keeps another.
func (j *Job) replaced(r *Record, upto int) bool { return j.replacedBut(r, upto, nil) }

// replacedBut is replaced where it is known of some rulings already. Rulings on rulings name each other in many ways, and each is
// asked about once.
func (j *Job) replacedBut(r *Record, upto int, known map[*Record]bool) bool {
	var ruled, kept int
	for _, s := range j.namedBy[r.Hash] {
		if s.pos >= upto || !s.names(r.Hash, Over, Base) {
			continue
		}
		switch what := s.What.(type) {
		case *PutRight, *Outcome:
			if !s.names(r.Hash, Base) {
				continue // they cure or close what they name; they do not take its place
			}
		case *Ruling:
			if known == nil {
				known = map[*Record]bool{}
			}
			out, asked := known[s]
			if !asked {
				out = j.replacedBut(s, upto, known)
				known[s] = out
			}
			if out {
				continue
			}
			if ruled++; j.byID[what.Keeps] == r {
				kept++
			}
			continue
		case nil:
			return true // a newer version changed it: what it says now is not known here
		}
		if (Author{Person: s.By, Role: s.Role}).MayReplace(r) || s.names(r.Hash, Base) {
			return true
		}
	}
	// Rulings that contradict each other settle nothing.
	return ruled > 0 && kept == 0
}

// MayReplace tells whether a record of that author takes r out of force where it names it.
func (a Author) MayReplace(r *Record) bool { return a.Role.Judges() || a.Person == r.By }

func (e *Envelope) names(h Hash, as ...As) bool {
	return slices.ContainsFunc(e.Refs, func(ref Ref) bool { return ref.H == h && slices.Contains(as, ref.As) })
}

// heads lists the records of a subject that are in force among those filed before upto.
func (j *Job) heads(list []*Record, upto int) []*Record {
	var hs []*Record
	for _, r := range list {
		if r.pos < upto && !j.replaced(r, upto) {
			hs = append(hs, r)
		}
	}
	slices.SortFunc(hs, func(a, b *Record) int { return cmp.Compare(a.pos, b.pos) })
	return hs
}

// now is a position behind every record.
func (j *Job) now() int { return len(j.Records) }

// sawEachOther tells whether one of two records could know the other: it names it, directly or through others, or stands
// behind it in its lane. What is not so was recorded side by side.
func (j *Job) sawEachOther(a, b *Record) bool {
	if a.pos > b.pos {
		a, b = b, a
	}
	if a.Dev == b.Dev {
		return true
	}
	todo, done := []*Record{b}, map[*Record]bool{}
	for len(todo) > 0 {
		r := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if r == a {
			return true
		}
		if done[r] || r.pos < a.pos {
			continue
		}
		done[r] = true
		for _, ref := range r.Refs {
			if s, ok := j.byHash[ref.H]; ok {
				todo = append(todo, s)
			}
		}
		if s, ok := j.byHash[r.Prev]; ok {
			todo = append(todo, s)
		}
	}
	return false
}
