package sim

import (
	"errors"
	"math/rand/v2"
	"time"
)

// step is what one step of a schedule draws. A step that draws more than it holds gets 0, so that steps can be taken out.
type step []int

// draws gives the numbers of one step.
type draws struct {
	fresh *rand.Rand // nil when a schedule is played again
	step  *step
	next  int
}

func (d *draws) upto(n int) int {
	if d.next == len(*d.step) {
		if d.fresh == nil {
			return 0
		}
		*d.step = append(*d.step, d.fresh.IntN(n))
	}
	v := (*d.step)[d.next] % n
	d.next++
	return v
}

// play runs a schedule in a world and, where something is not as it must be, says what.
func (w *world) play(steps []step, fresh *rand.Rand) (played []step, err error) {
	defer func() {
		if v := recover(); v != nil {
			f, ours := v.(failure)
			if !ours {
				panic(v)
			}
			err = errors.New(string(f))
		}
	}()
	for i := range steps {
		d := &draws{fresh: fresh, step: &steps[i]}
		played = steps[:i+1]
		actions[d.upto(len(actions))](w, d)
	}
	w.heal()
	w.judge()
	w.judgeNewer()
	return steps, nil
}

// heal ends all faults and lets everybody exchange until nothing is left to say.
func (w *world) heal() {
	for _, d := range w.devices {
		d.store.Fail = nil
		if d.off > time.Hour || d.off < -time.Hour {
			d.off = 0
		}
	}
	w.store.Fail = nil
	w.giveAll()
	for round := 0; ; round++ {
		quiet := w.newer.push(w, round%2) == nil
		for _, d := range w.devices {
			if w.revoked[d.id] {
				d.open()                        // a program that is started anew says again what it has said
				_ = d.sync(straight(round % 2)) // leaves with the supervisor what it still has
				continue
			}
			n := w.store.end().N
			err := d.sync(straight(round % 2))
			quiet = quiet && err == nil && n == w.store.end().N && d.store.me().Cursor.N == n && d.whole()
		}
		if quiet {
			return
		}
		if round == 20 {
			fail("after 20 exchanges the outboxes are not empty")
		}
	}
}

// schedule is what is played: with which fault planted, from which seed, and how long.
type schedule struct {
	plant string
	seed  uint64
	steps int
	deep  bool
	in    func(plant string, seed uint64) *world // nil: in memory
}

func (s schedule) world() *world {
	in := s.in
	if in == nil {
		in = newWorld
	}
	w := in(s.plant, s.seed)
	w.deep = s.deep
	return w
}

// run draws the steps from the seed.
func (s schedule) run() (*world, []step, error) {
	w := s.world()
	played, err := w.play(make([]step, s.steps), rand.New(rand.NewPCG(s.seed, 1)))
	return w, played, err
}

// again plays given steps.
func (s schedule) again(steps []step) error {
	_, err := s.world().play(steps, nil)
	return err
}

// shrink takes out of a schedule what is not needed for it to fail.
func (s schedule) shrink(steps []step) ([]step, error) {
	last := s.again(steps)
	for size := len(steps) / 2; size > 0; size /= 2 {
		for at := 0; at+size <= len(steps); {
			less := append(append([]step{}, steps[:at]...), steps[at+size:]...)
			if err := s.again(less); err != nil {
				steps, last = less, err
			} else {
				at += size
			}
		}
	}
	return steps, last
}
