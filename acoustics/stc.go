package acoustics

import "math"

// stcContour is the contour of ASTM E413 relative to its value at 500 Hz, 125 to 4000 Hz.
var stcContour = [16]float64{-16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4, 4}

// SoundTransmissionClass rates a curve from 125 to 4000 Hz by ASTM E413: the sum of deficiencies is at most 32 dB and none exceeds 8 dB.
// It is here to compare with measured rows that give nothing else; it is not R_w. Source: ASTM E413, from memory, sure.
func SoundTransmissionClass(c Curve) (int, bool) {
	if !c.Has(125, 4000) {
		return 0, false
	}
	var r [16]float64
	for i := range r {
		r[i] = math.Floor(c.db[i+4] + 0.5)
	}
	return highestClass(r, stcContour), true
}

// ImpactInsulationClass rates L_n from 100 to 3150 Hz by ASTM E989: 110 less the contour at 500 Hz. Source: ASTM E989, from memory, sure.
func ImpactInsulationClass(c Curve) (int, bool) {
	if !c.Has(100, 3150) {
		return 0, false
	}
	var r, contour [16]float64
	for i := range r {
		r[i] = -math.Floor(c.db[i+at100] + 0.5)
		contour[i] = -(impactReference[i] - impactReference[7])
	}
	return 110 + highestClass(r, contour), true
}

func highestClass(r, contour [16]float64) int {
	class := -200
	for {
		var sum float64
		for i, v := range r {
			short := max(0, float64(class+1)+contour[i]-v)
			if short > 8 {
				return class
			}
			sum += short
		}
		if sum > 32 {
			return class
		}
		class++
	}
}
