package live_test

import (
	"context"
	"errors"
	"sync"
	"testing"

	"tacet/server/live"
	"tacet/sync/replica"
)

// What is known already or comes late changes nothing; positions only grow.
func TestPositionsOnlyGrow(t *testing.T) {
	asked := 0
	h := live.New(live.Config{Position: func(context.Context, string) (int64, error) { asked++; return 7, nil }})
	at := func() int64 {
		t.Helper()
		end, err := h.At(t.Context(), "a")
		if err != nil {
			t.Fatal(err)
		}
		return end
	}
	if got := at(); got != 7 || asked != 1 {
		t.Errorf("at %d after %d questions", got, asked)
	}
	for _, c := range []struct{ end, want int64 }{{8, 8}, {6, 8}, {8, 8}, {12, 12}} {
		h.Announce("a", c.end)
		if got := at(); got != c.want {
			t.Errorf("after %d at %d, want %d", c.end, got, c.want)
		}
	}
	if asked != 1 {
		t.Errorf("asked %d times for what was known", asked)
	}
	// A record without positions goes further each time.
	last := int64(0)
	for range 3 {
		h.AnnounceMore("device")
		end, err := h.At(t.Context(), "device")
		if err != nil || end <= last {
			t.Errorf("from %d to %d, %v", last, end, err)
		}
		last = end
	}
	trouble := errors.New("no database")
	h = live.New(live.Config{Position: func(context.Context, string) (int64, error) { return 0, trouble }})
	if _, err := h.At(t.Context(), "a"); !errors.Is(err, trouble) {
		t.Errorf("position of a database that is away: %v", err)
	}
}

// Lines are counted for each account and in all, and given back; one too many of an account ends its oldest.
func TestLimits(t *testing.T) {
	h := live.New(live.Config{PerAccount: 2, InAll: 3})
	join := func(account string) *live.Listener {
		t.Helper()
		l, err := h.Join("co", account)
		if err != nil {
			t.Fatalf("%s: %v", account, err)
		}
		return l
	}
	refused := func(account string, as error) {
		t.Helper()
		if _, err := h.Join("co", account); !errors.Is(err, as) {
			t.Errorf("%s: %v, want %v", account, err, as)
		}
	}
	a, b := join("one"), join("one")
	if a.Replaced() || b.Replaced() {
		t.Error("replaced before there was one too many")
	}
	c := join("one")
	if !a.Replaced() || b.Replaced() || c.Replaced() {
		t.Errorf("one too many replaced %t %t %t, not the oldest", a.Replaced(), b.Replaced(), c.Replaced())
	}
	refused("three", replica.ErrSlowDown) // what was replaced counts until it has ended
	a.Leave()
	a.Leave() // twice is once
	d := join("three")
	if n := h.Listeners(); n != 3 {
		t.Errorf("%d listen", n)
	}
	for _, l := range []*live.Listener{b, c, d} {
		l.Leave()
	}
	h.Close()
	refused("one", replica.ErrBusy)
	if n := h.Listeners(); n != 0 {
		t.Errorf("%d listen to a hub that is closed", n)
	}
}

// Joining, leaving and announcing at the same time.
func TestAtOnce(t *testing.T) {
	h := live.New(live.Config{PerAccount: 1000})
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for n := range 200 {
				l, err := h.Join("co", "one")
				if err != nil {
					t.Error(err)
					return
				}
				h.Announce("co", int64(i*n))
				h.AnnounceMore("other")
				l.Leave()
			}
		})
	}
	all.Wait()
	h.Close()
}
