package jobs

import "tacet/acoustics"

// StockScrews are the usual lengths in mm; a firm may keep others. Common practice, no source.
var StockScrews = []float64{25, 32, 35, 38, 42, 50, 60}

// Screw window: what a screw has to reach, and what it must stay short of. Common practice, no source.
const (
	intoMetalMM  = 10.0 // through the metal of a channel or stud
	intoTimberMM = 25.0 // into a timber stud
	edgeRoomMM   = 1.0  // to both ends of the window, where the stock allows it
	clearEndMM   = 3.0  // left between its point and what stands behind the channel
)

// ScrewWindow is the range of screw lengths for a board: long enough to hold, short enough to touch nothing behind.
type ScrewWindow struct {
	MinMM, MaxMM float64
	StockMM      float64 // the shortest stock length that fits; 0: none does
}

// Fits tells whether some stock length lies in the window.
func (w ScrewWindow) Fits() bool { return w.StockMM > 0 }

// ScrewWindow returns the window of a board that is screwed to a frame or channel; false for anything else.
//
//	length >= boards and membranes down to the support + 10 mm into metal, 25 mm into timber
//	length <= boards and membranes + clear depth behind the face of the support - 3 mm
func (s *Surface) ScrewWindow(l *Layer) (ScrewWindow, bool) {
	if !isScrewed(s, l) {
		return ScrewWindow{}, false
	}
	support := supportOf(s, l)
	var through float64
	for n := support.N + 1; n <= l.N; n++ {
		if e := s.Layer(n).Now; e.Role() != acoustics.RoleCavity {
			through += e.ThicknessMM()
		}
	}
	into := intoMetalMM
	if inTimber(frameOf(support)) {
		into = intoTimberMM
	}
	w := ScrewWindow{MinMM: round(through + into), MaxMM: round(through + support.Now.ThicknessMM() - clearEndMM)}
	w.StockMM = w.pick(StockScrews)
	return w, true
}

// pick chooses from the stock: the shortest length that lies well inside the window, else the shortest that lies in it at
// all; 0 where none does. A screw on the very edge of its window is no choice while another has room on both sides.
func (w ScrewWindow) pick(stock []float64) float64 {
	shortest := func(room float64) float64 {
		var best float64
		for _, mm := range stock {
			if mm >= w.MinMM+room && mm <= w.MaxMM-room && (best == 0 || mm < best) {
				best = mm
			}
		}
		return best
	}
	if mm := shortest(edgeRoomMM); mm > 0 {
		return mm
	}
	return shortest(0)
}

// inTimber tells whether a screw has to hold as in timber. Steel studs and channels are metal; a frame that stands by itself, or in two rows,
// may be either, and what holds in timber holds in metal too.
func inTimber(f *acoustics.Frame) bool {
	switch f.Kind {
	case "timber_stud", "staggered_stud", "joist", "independent", "twin_frame":
		return f.Resilient == ""
	}
	return false
}
