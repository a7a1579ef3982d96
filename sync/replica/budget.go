package replica

// budget is how many bytes one message of a direction may carry. On a link that drops what takes long, only small
// messages arrive: it is halved when one did not, and doubled when one did.
type budget int

const (
	startBudget budget = 64 << 10
	minBudget   budget = MinPage
	maxBudget   budget = MaxBatchBytes
)

// spend gives the size for the next message.
func (r *Replica) spend(b *budget) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return int(*b)
}

func (r *Replica) double(b *budget) {
	r.mu.Lock()
	defer r.mu.Unlock()
	*b = min(*b*2, maxBudget)
}

// halve is false when nothing is left to halve.
func (r *Replica) halve(b *budget) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	was := *b
	*b = max(*b/2, minBudget)
	return *b < was
}
