package sim

import (
	"encoding/json"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// The lengths of schedules: as many of the short ones as can be, and longer ones in the long checks.
const (
	stepsShort = 30
	stepsLong  = 90
)

func TestMain(m *testing.M) {
	debug.SetGCPercent(400) // schedules make much that lives short
	os.Exit(m.Run())
}

func number(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return otherwise
}

// everySeed runs schedules on all processors, and stops at the first that is to stop.
func everySeed(first, n int, run func(seed uint64) (more bool)) {
	var mu sync.Mutex
	next, stop := first, false
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for {
				mu.Lock()
				seed := next
				next++
				done := stop || seed >= first+n
				mu.Unlock()
				if done {
					return
				}
				if !run(uint64(seed)) {
					mu.Lock()
					stop = true
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
}

// report shrinks a schedule that fails and says how it is played again.
func report(t *testing.T, s schedule, played []step, err error) {
	t.Helper()
	short, says := s.shrink(played)
	text, _ := json.Marshal(short)
	t.Errorf("seed %d: %v\nshrunk from %d to %d steps, which say %v:\n%s\nplay it again: TACET_PLANT=%q TACET_SEED=%d TACET_STEPS='%s' go test ./sync/sim -run TestReplay -v",
		s.seed, err, len(played), len(short), says, text, s.plant, s.seed, text)
}

// met counts what has happened in schedules, from several goroutines.
type met struct {
	mu sync.Mutex
	n  map[string]int
}

func (m *met) add(w *world) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.n == nil {
		m.n = map[string]int{}
	}
	for k, v := range w.met {
		m.n[k] += v
	}
}

// mustMeet is what each schedule may run into, and many of them must have.
var mustMeet = []string{"a server was restored", "a device was restored", "a disk was copied", "found to be a copy", "a device was revoked", "a device was scrapped", "left aside",
	"offered", "doubled", "answer lost", "cut", "answered: admit", "answered: refuse", "a store failed", "a clock jumped", "superseded",
	"a standby took over", "a standby was asked", "a device took a new key", "a later version wrote", "a save failed", "a sign-in ran out", "access given", "access taken",
	"history fetched", "refused at the desk"}

// Schedules drawn from seeds: whatever goes wrong, when it has ended all replicas hold the same jobs, and in them each record that
// was said to be saved, once. TACET_SIM gives the number of schedules, TACET_SEED the first seed, TACET_LONG=1 makes them longer and
// looks at everything in the end.
func TestSchedules(t *testing.T) {
	n, first, s := number("TACET_SIM", 2000), number("TACET_SEED", 1), schedule{steps: stepsShort}
	if number("TACET_LONG", 0) > 0 {
		s.steps, s.deep = stepsLong, true
	}
	if testing.Short() {
		n = min(n, 100)
	}
	var all met
	everySeed(first, n, func(seed uint64) bool {
		s := s
		s.seed = seed
		w, played, err := s.run()
		if err != nil {
			report(t, s, played, err)
			return false
		}
		all.add(w)
		return true
	})
	t.Logf("evidence: %d schedules of %d steps from seed %d; met: %v", n, s.steps, first, all.n)
	for _, k := range mustMeet {
		if n >= 1000 && all.n[k] < n/200 {
			t.Errorf("%q was met %d times in %d schedules", k, all.n[k], n)
		}
	}
}

// A schedule is played again by name: TACET_SEED, TACET_PLANT and TACET_STEPS as a failing test says them. Without them it is the
// first schedule, written down as a failing test would.
func TestReplay(t *testing.T) {
	text := os.Getenv("TACET_STEPS")
	if text == "" {
		_, played, err := schedule{seed: 1, steps: stepsShort}.run()
		if err != nil || len(played) == 0 {
			t.Fatalf("%d steps played, %v", len(played), err)
		}
		written, err := json.Marshal(played)
		if err != nil {
			t.Fatal(err)
		}
		text = string(written)
	}
	var steps []step
	if err := json.Unmarshal([]byte(text), &steps); err != nil {
		t.Fatal(err)
	}
	s := schedule{plant: os.Getenv("TACET_PLANT"), seed: uint64(number("TACET_SEED", 1)), deep: true}
	if err := s.again(steps); err != nil {
		t.Error(err)
	}
}

// plantBudget is within how many schedules each planted fault has to be found.
const plantBudget = 2000

// Each fault that is planted is found by its sign, and it is the fault that is found: the same schedule passes without it. TACET_TRIES searches
// for each so many times, from other seeds on, and says after how many schedules it was found in the median.
func TestPlantedFaults(t *testing.T) {
	tries := number("TACET_TRIES", 1)
	for _, plant := range plants {
		t.Run(plant.name, func(t *testing.T) {
			var after []int
			var says error
			others := map[string]int{}
			for try := range tries {
				first := 1 + 100_000*try
				seed, err := search(plant.name, plant.sign, first, others)
				if seed == 0 {
					t.Fatalf("was not found by %q in %d schedules from seed %d on; they say %v", plant.sign, plantBudget, first, others)
				}
				if _, _, err := (schedule{seed: seed, steps: stepsShort}).run(); err != nil {
					t.Fatalf("seed %d fails without it too: %v", seed, err)
				}
				after, says = append(after, int(seed)-first+1), err
			}
			slices.Sort(after)
			t.Logf("evidence: %s: found %d times after %d schedules in the median, %d at most: %v; otherwise: %v", plant.name, tries, after[tries/2], after[tries-1], says, others)
		})
	}
}

// search gives the first seed, from one on, that finds a planted fault by its sign; 0 where none does. What else schedules complain of
// is counted.
func search(plant, sign string, first int, others map[string]int) (found uint64, says error) {
	var mu sync.Mutex
	everySeed(first, plantBudget, func(seed uint64) bool {
		_, _, err := schedule{plant: plant, seed: seed, steps: stepsShort}.run()
		mu.Lock()
		defer mu.Unlock()
		if err == nil {
			return true
		}
		if !strings.Contains(err.Error(), sign) {
			others[err.Error()]++
			return true
		}
		if found == 0 || seed < found {
			found, says = seed, err
		}
		return false
	})
	return found, says
}

// A schedule that fails shrinks to a few steps, which fail as well when they are played again.
func TestFailureShrinks(t *testing.T) {
	const plant = "a restored server keeps its id"
	seed, _ := search(plant, "of its lane twice", 1, map[string]int{})
	s := schedule{plant: plant, seed: seed, steps: stepsShort}
	_, played, err := s.run()
	if err == nil {
		t.Fatal("the fault was not found")
	}
	short, says := s.shrink(played)
	if len(short) > 6 || len(short) >= len(played) {
		t.Errorf("shrunk from %d to %d steps", len(played), len(short))
	}
	if err := s.again(short); err == nil || says == nil || err.Error() != says.Error() {
		t.Errorf("played again, it says %v and not %v", err, says)
	}
	if err := (schedule{seed: seed}).again(short); err != nil {
		t.Errorf("the steps fail without the fault: %v", err)
	}
	t.Logf("seed %d: shrunk from %d to %d steps: %v", seed, len(played), len(short), short)
}
