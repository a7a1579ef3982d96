package drawing

import (
	"math"
	"strconv"
)

// band is where a slab lies in thickness: from and to are drawing units outward from the innermost face.
type band struct {
	slab     Slab
	id       string
	from, to float64
	broken   bool // drawn shorter than scale, with a break line
	thick    bool // drawn thicker than scale, so that it can be seen
	removed  bool
}

func (b band) size() float64 { return b.to - b.from }
func (b band) mid() float64  { return (b.from + b.to) / 2 }

// Measures of the scale, in drawing units.
const (
	leastSize   = 7.0  // a slab thinner than this is hard to see on a phone or a print
	mostPerMM   = 2.4  // beyond this a single board fills the page and says nothing more
	goodPerMM   = 1.15 // below this boards get hard to tell apart, and the thickest slabs are broken
	brokenPerMM = 1.9  // with a broken slab the scale goes no further than this, so that it stays the thickest to the eye
	brokenShare = 0.27 // of the room there is, for one broken slab
	crowdShare  = 0.40 // a slab of the existing structure that takes more than this is broken as well
)

// Only what is thicker than this may be broken, in mm: the existing structure is background, a cavity that is added is not.
const (
	breakExistingMM = 60
	breakLayerMM    = 150
)

// bands gives each slab that has a thickness its place within the room there is, in order, and the scale in units per mm.
// Thickness is true to scale but for two kinds of slab, both named beneath the drawing: one that would be too thin to see, and
// one so thick that it would crowd the rest out.
func (s Section) bands(room float64) ([]band, float64) {
	var out []band
	add := func(slab Slab, id string) { out = append(out, band{slab: slab, id: id}) }
	for i, e := range s.Existing {
		add(e, Letter(i))
	}
	existing := len(out)
	for _, l := range s.Layers {
		if l.Within == 0 && l.Removes == 0 {
			add(l, strconv.Itoa(l.Number))
		}
	}
	for _, l := range s.Layers {
		if i := l.Removes; i > 0 && i <= existing {
			out[i-1].removed = true
		}
	}
	if len(out) == 0 {
		return nil, 0
	}
	perMM := fit(out, room)
	for (perMM < goodPerMM || crowded(out[:existing], perMM, room)) && breakThickest(out, existing) {
		perMM = math.Min(brokenPerMM, fit(out, room))
	}
	at := 0.0
	for i := range out {
		b := &out[i]
		b.from = at
		at += b.drawn(perMM, room, len(out))
		b.to = at
		off := b.size() - b.slab.ThicknessMM*perMM
		b.thick = !known(b.slab.ThicknessMM) || off > 0.05
		b.broken = !b.thick && off < -0.05
	}
	return out, perMM
}

// drawn is the size of the band at a scale: true, but never too thin to see, and held short where it is broken.
func (b band) drawn(perMM, room float64, n int) float64 {
	least := math.Min(leastSize, room/float64(n))
	switch {
	case !known(b.slab.ThicknessMM):
		return least
	case b.broken:
		return math.Max(least, math.Min(room*brokenShare, b.slab.ThicknessMM*perMM))
	}
	return math.Max(least, b.slab.ThicknessMM*perMM)
}

// fit is the largest scale at which the bands fill the room and no more, by bisection.
func fit(bands []band, room float64) float64 {
	sum := func(perMM float64) float64 {
		total := 0.0
		for _, b := range bands {
			total += b.drawn(perMM, room, len(bands))
		}
		return total
	}
	if sum(mostPerMM) <= room {
		return mostPerMM
	}
	low, high := 0.0, mostPerMM
	for range 60 { // to the last bit that matters
		if mid := (low + high) / 2; sum(mid) > room {
			high = mid
		} else {
			low = mid
		}
	}
	return low
}

// crowded tells whether one slab of the existing structure leaves too little room for what the drawing is about.
func crowded(existing []band, perMM, room float64) bool {
	for _, b := range existing {
		mm := b.slab.ThicknessMM
		if !b.broken && known(mm) && mm > breakExistingMM && mm*perMM > crowdShare*room {
			return true
		}
	}
	return false
}

// breakThickest marks the thickest slab that may still be broken, the existing structure's first; false when there is none.
func breakThickest(bands []band, existing int) bool {
	best := -1
	pick := func(from, to int, above float64) {
		for i := from; i < to; i++ {
			mm := bands[i].slab.ThicknessMM
			if !bands[i].broken && known(mm) && mm > above && (best < 0 || mm > bands[best].slab.ThicknessMM) {
				best = i
			}
		}
	}
	pick(0, existing, breakExistingMM)
	if best < 0 {
		pick(existing, len(bands), breakLayerMM)
	}
	if best < 0 {
		return false
	}
	bands[best].broken = true
	return true
}

// Letter names the i-th slab of the existing structure, from 0: a, b, ... z, a2, b2.
func Letter(i int) string {
	letter := string(rune('a' + i%26))
	if i >= 26 {
		letter += strconv.Itoa(i/26 + 1)
	}
	return letter
}

// barMM picks a round length for the scale bar, the longest that stays handy.
func barMM(perMM float64) float64 {
	best := 0.0
	for _, mm := range []float64{5, 10, 20, 50, 100, 200, 500, 1000} {
		if mm*perMM <= 110 {
			best = mm
		}
	}
	return best
}

// spread moves the wanted places, given in order, apart to at least gap within low and high, and as little as it can (isotonic
// regression by pooling neighbours). Where they do not fit beside each other rows says over how many rows they must be dealt out.
func spread(want []float64, gap, low, high float64) (got []float64, rows int) {
	n := len(want)
	got = make([]float64, n)
	rows = 1
	for n > 1 && float64(n-1)*gap/float64(rows) > high-low {
		rows++
	}
	step := gap / float64(rows)
	type pool struct {
		sum float64
		n   int
	}
	var pools []pool
	for i, w := range want {
		pools = append(pools, pool{w - float64(i)*step, 1})
		for k := len(pools) - 1; k > 0 && pools[k-1].sum/float64(pools[k-1].n) > pools[k].sum/float64(pools[k].n); k-- {
			pools[k-1] = pool{pools[k-1].sum + pools[k].sum, pools[k-1].n + pools[k].n}
			pools = pools[:k]
		}
	}
	i := 0
	for _, p := range pools {
		for range p.n {
			place := math.Min(p.sum/float64(p.n), high-float64(n-1)*step)
			got[i] = math.Max(place, low) + float64(i)*step
			i++
		}
	}
	return got, rows
}
