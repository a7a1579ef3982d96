package live

import (
	"cmp"
	"context"
	"slices"
	"sync"
	"time"

	"tacet/sync/replica"
)

// Limits, unless the configuration says otherwise.
const (
	Life       = 50 * time.Second // of one stream; then it is asked for anew, and who asks is checked anew
	Beat       = 15 * time.Second // between two signs of life, so that both sides notice a dead line
	PerAccount = 8                // streams at once of one device or one person
	InAll      = 10_000           // streams at once of this server
)

// Config is what a hub works with.
type Config struct {
	// Position tells how far a company's record goes, where the hub has not heard of it yet.
	Position func(ctx context.Context, company string) (int64, error)
	// Life, Beat, PerAccount and InAll are as the constants, where zero.
	Life, Beat        time.Duration
	PerAccount, InAll int
}

// Hub knows how far each company's record goes and wakes who listens. Its methods may be called at the same time.
type Hub struct {
	config Config

	mu        sync.Mutex
	ends      map[string]int64 // by company
	listeners map[string]map[*Listener]bool
	accounts  map[string][]*Listener // the streams of each, the oldest first
	count     int
	closed    bool
	streams   sync.WaitGroup
}

// New returns a hub to which nobody listens yet.
func New(c Config) *Hub {
	c.Life, c.Beat = cmp.Or(c.Life, Life), cmp.Or(c.Beat, Beat)
	c.PerAccount, c.InAll = cmp.Or(c.PerAccount, PerAccount), cmp.Or(c.InAll, InAll)
	return &Hub{config: c, ends: map[string]int64{}, listeners: map[string]map[*Listener]bool{}, accounts: map[string][]*Listener{}}
}

// Listener is one who listens to a company. It keeps no queue: several pieces of news before it looks are one.
type Listener struct {
	hub              *Hub
	company, account string
	woken            chan struct{}
	replaced         bool // a newer one of the account took its place
}

// Announce says that a company's record goes to end now. What is known already, or arrives late, wakes nobody.
func (h *Hub) Announce(company string, end int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if known, ok := h.ends[company]; ok && end <= known {
		return
	}
	h.ends[company] = end
	for l := range h.listeners[company] {
		l.wake()
	}
}

// AnnounceMore is Announce for a record without positions, that of a device: it goes one further each time.
func (h *Hub) AnnounceMore(company string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ends[company] = max(h.ends[company]+1, time.Now().UnixMilli()) // so that a program started anew never repeats one
	for l := range h.listeners[company] {
		l.wake()
	}
}

func (l *Listener) wake() {
	select {
	case l.woken <- struct{}{}:
	default: // it is awake, or will be
	}
}

// At tells how far a company's record goes: as heard, else as it stands.
func (h *Hub) At(ctx context.Context, company string) (int64, error) {
	h.mu.Lock()
	end, known := h.ends[company]
	h.mu.Unlock()
	if known || h.config.Position == nil {
		return end, nil
	}
	end, err := h.config.Position(ctx, company)
	if err != nil {
		return 0, err
	}
	h.Announce(company, end)
	return end, nil
}

// Join begins to listen. Where one account has as many streams as it may, its oldest ends: a page that was left can't be told from one
// that is read until something is sent to it. Too many in all are told to come later; they go on looking by themselves.
func (h *Hub) Join(company, account string) (*Listener, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return nil, &replica.Refusal{Err: replica.ErrBusy, Says: "this server stops", RetryAfter: time.Second}
	}
	if h.count >= h.config.InAll {
		return nil, &replica.Refusal{Err: replica.ErrSlowDown, Says: "too many listen at once", RetryAfter: time.Minute}
	}
	l := &Listener{hub: h, company: company, account: account, woken: make(chan struct{}, 1)}
	if h.listeners[company] == nil {
		h.listeners[company] = map[*Listener]bool{}
	}
	h.listeners[company][l] = true
	if has := h.accounts[account]; len(has) >= h.config.PerAccount {
		has[0].replaced = true
		has[0].wake()
		h.accounts[account] = has[1:]
	}
	h.accounts[account] = append(h.accounts[account], l)
	h.count++
	h.streams.Add(1)
	return l, nil
}

// Leave ends listening.
func (l *Listener) Leave() {
	h := l.hub
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.listeners[l.company][l] {
		return
	}
	delete(h.listeners[l.company], l)
	if len(h.listeners[l.company]) == 0 {
		delete(h.listeners, l.company)
	}
	rest := slices.DeleteFunc(h.accounts[l.account], func(o *Listener) bool { return o == l })
	if h.accounts[l.account] = rest; len(rest) == 0 {
		delete(h.accounts, l.account)
	}
	h.count--
	h.streams.Done()
}

// Listeners is how many listen.
func (h *Hub) Listeners() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.count
}

// Close ends all streams and waits for them. Nobody can join any more.
func (h *Hub) Close() {
	h.mu.Lock()
	h.closed = true
	for _, ls := range h.listeners {
		for l := range ls {
			l.wake()
		}
	}
	h.mu.Unlock()
	h.streams.Wait()
}

func (h *Hub) ended() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.closed
}

// Replaced tells whether a newer stream of the same account took its place.
func (l *Listener) Replaced() bool {
	l.hub.mu.Lock()
	defer l.hub.mu.Unlock()
	return l.replaced
}

// forget drops what is known of companies that nobody listens to, and lists the others: after a gap in the news both have to
// be asked for anew.
func (h *Hub) forget() (listened []string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for co := range h.ends {
		if len(h.listeners[co]) == 0 {
			delete(h.ends, co)
		}
	}
	for co := range h.listeners {
		listened = append(listened, co)
	}
	return listened
}

// look compares what is known with the record, after a gap in the news.
func (h *Hub) look(ctx context.Context) error {
	for _, co := range h.forget() {
		end, err := h.config.Position(ctx, co)
		if err != nil {
			return err
		}
		h.Announce(co, end)
	}
	return nil
}
