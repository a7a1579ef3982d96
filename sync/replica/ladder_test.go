package replica

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// However it was climbed, a ladder has few rungs, in order, and behind whatever position the log was lost, the rung before it is at most
// twice as far from the top (arithmetic: a rung goes only where that holds without it).
func TestClimb(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var l []Rung
		var n int64
		steps := rapid.SliceOfN(rapid.Int64Range(1, 3000), 1, 300).Draw(t, "steps")
		var read []int64
		for _, step := range steps {
			n += step
			read = append(read, n)
			l = climb(l, Rung{N: n})
		}
		if len(l) > maxRungs || !slices.IsSortedFunc(l, func(a, b Rung) int { return int(a.N - b.N) }) || l[len(l)-1].N != n {
			t.Fatalf("%v", l)
		}
		for i, rung := range l[:len(l)-1] {
			next := l[i+1]
			at := slices.Index(read, rung.N)
			if near := read[at+1] == next.N; !near && next.N-rung.N > n-next.N {
				t.Fatalf("from %d to %d, at %d", rung.N, next.N, n)
			}
		}
		if read[0] != l[0].N && len(l) < maxRungs {
			t.Fatalf("the oldest of few rungs is %d, the first was %d", l[0].N, read[0])
		}
	})
}

// A ladder that is climbed for years still reaches far down.
func TestClimbLong(t *testing.T) {
	var l []Rung
	for n := int64(10); n <= 1_000_000; n += 10 {
		l = climb(l, Rung{N: n})
	}
	if len(l) > maxRungs || l[0].N != 10 {
		t.Errorf("%d rungs, the oldest at %d", len(l), l[0].N)
	}
}
