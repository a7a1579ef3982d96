package replica

import "errors"

// budget is how many bytes one message of a direction may carry. On a link that drops what takes long, only small
// messages arrive: it is halved when one did not, and doubled when one did. A line that is cut after a number of bytes, however
// fast they went, allows no more than its share (see line).
type budget int

const (
	startBudget budget = 64 << 10
	minBudget   budget = MinPage
	maxBudget   budget = MaxBatchBytes
)

// line is what the connection has shown: how much comes through between two cuts. A message that is cut goes again as a whole,
// so a message may have a small share of that. Growing with what has come through, it grows only on proven success.
type line struct {
	through int64 // bytes of messages since the last cut
	between int64 // between cuts, the later ones counting more; 0 while none has been met
}

// lineShare is which part of what comes through between cuts one message may have. On average half a message is lost with each
// cut, a sixteenth of what comes through; smaller ones cost more by what goes with each call than they save.
const lineShare = 8

// fits is what a message may have, at least otherwise where no cut has been met.
func (l line) fits(otherwise budget) budget {
	n := budget(max(l.through, l.between) / lineShare)
	if l.between == 0 {
		n = max(n, otherwise)
	}
	return max(n, minBudget)
}

func (l *line) cut() {
	switch {
	case l.through == 0:
		return // the message was too large for it by itself, or nothing is there
	case l.between == 0:
		l.between = l.through
	default:
		l.between = (l.between + l.through) / 2
	}
	l.through = 0
}

// spend gives the size for the next message.
func (r *Replica) spend(b *budget) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	if b == &r.piece {
		return int(min(*b, r.line.fits(startPiece), MaxPiece))
	}
	return int(min(*b, r.line.fits(maxBudget)))
}

// arrived notes that a message of n bytes got through.
func (r *Replica) arrived(b *budget, n int, grow bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.line.through += int64(n)
	if grow {
		*b = min(*b*2, maxBudget)
	}
}

// failed notes that a message did not get through.
func (r *Replica) failed(b *budget, err error) {
	if !errors.Is(err, ErrUnreachable) {
		return
	}
	if errors.Is(err, ErrCut) {
		r.mu.Lock()
		r.line.cut()
		r.mu.Unlock()
	}
	r.halve(b)
}

// halve is false when nothing is left to halve.
func (r *Replica) halve(b *budget) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	was := *b
	*b = max(*b/2, minBudget)
	return *b < was
}

// BetweenCuts tells how many bytes come through between two cuts of the line; 0 where none has been met.
func (r *Replica) BetweenCuts() int64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.line.between == 0 {
		return 0
	}
	return max(r.line.between, r.line.through)
}

// ExpectCuts says what an earlier run of the program has seen of the line.
func (r *Replica) ExpectCuts(between int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.line == (line{}) {
		r.line.between = max(between, 0)
	}
}
