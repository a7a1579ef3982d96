package acoustics

import "math"

// LiningResonance returns f0 of a framed lining with a filled cavity in front of a heavy element, in Hz.
//
//	f0 = 1/(2π) √(0.111·10⁶/d (1/m1 + 1/m2))
//	depth   d        m, above 0; r of the fill at least 5 kPa·s/m²
//	m1, m2           kg/m², above 0
//
// Source: ISO 12354-1:2017 (D.2); not yet compared with the printed text. Checked: testdata/published/lining.csv.
func LiningResonance(depth, m1, m2 float64) float64 {
	return math.Sqrt(0.111e6/depth*(1/m1+1/m2)) / (2 * math.Pi)
}

// LiningImprovement returns ΔR_w of a lining with resonance f0 on a heavy element of R_w from 20 to 60 dB, in dB; f0 is taken to its
// third-octave band.
//
//	30 to 160 Hz: max(0, 74.4 - 20 lg f0 - R_w/2);  200: -1;  250: -3;  315: -5;  400: -7;  500: -9;  630 to 1600: -10;  above: -5
//
// Source: ISO 12354-1:2017, Table D.1; not yet compared with the printed text. The prediction does not use it: it calculates the stack.
// Checked: testdata/published/lining.csv.
func LiningImprovement(f0, rw float64) float64 {
	switch band := thirdOctave(f0); {
	case band <= 160:
		return max(0, 74.4-20*math.Log10(max(band, 30))-rw/2)
	case band <= 200:
		return -1
	case band <= 250:
		return -3
	case band <= 315:
		return -5
	case band <= 400:
		return -7
	case band <= 500:
		return -9
	case band <= 1600:
		return -10
	}
	return -5
}

// thirdOctave is the nominal centre of the band that holds f; band edges lie half way between exact centres 10^(n/10) (IEC 61260).
func thirdOctave(f float64) float64 {
	n := int(math.Round(10 * math.Log10(f)))
	const of50 = 17 // 10^1.7 = 50.1
	if i := n - of50; i >= 0 && i < Bands {
		return float64(bandHz[i])
	}
	return math.Pow(10, float64(n)/10)
}

// TwoLinings returns the improvement of two linings on one path from their own, all in dB, about -10 to 40: the larger and half of the smaller; where both are negative, the
// lower and half of the higher. Source: ISO 12354-1:2017, formulas 22 and 23; not yet compared with the printed text.
func TwoLinings(a, b float64) float64 {
	if a < 0 && b < 0 {
		return min(a, b) + max(a, b)/2
	}
	return max(a, b) + min(a, b)/2
}
