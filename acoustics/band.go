package acoustics

// Bands is the number of third-octave bands of a [Curve]: 50 to 5000 Hz.
const Bands = 21

// bandHz holds the nominal centre frequencies, in Hz, of the 21 third-octave bands (IEC 61260 nominal values).
var bandHz = [Bands]int{50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000}

// BandHz returns the nominal centre frequencies of the third-octave bands, 50 to 5000 Hz.
func BandHz() []int { return append([]int(nil), bandHz[:]...) }

// bandIndex returns the place of a nominal frequency among the 21 bands.
func bandIndex(hz int) (int, bool) {
	for i, f := range bandHz {
		if f == hz {
			return i, true
		}
	}
	return 0, false
}
