package acoustics

import "math"

// RadiationEfficiency returns σ, the radiation efficiency of free bending waves on a plate of l1 by l2 m in an infinite baffle, at most 2.
//
//	frequency  f    Hz   above 0
//	critical   f_c  Hz   above 0
//	l1, l2          m    above 0
//
// Edges between walls instead of a baffle raise it two to four times below f_c.
// Source: ISO 12354-1:2017 Annex B (B.2 to B.6); not yet compared with the printed text. Checked: testdata/published/annex_l.csv.
func RadiationEfficiency(frequency, critical, l1, l2 float64, air Air) float64 {
	f, fc, c := frequency, critical, air.SoundSpeed
	l1, l2 = max(l1, l2), min(l1, l2)
	f11 := c * c / (4 * fc) * (1/(l1*l1) + 1/(l2*l2))
	s1 := math.Inf(1)
	if f > fc {
		s1 = 1 / math.Sqrt(1-fc/f)
	}
	s2 := 4 * l1 * l2 * (f / c) * (f / c)
	s3 := math.Sqrt(2 * math.Pi * f * (l1 + l2) / (16 * c))
	var sigma float64
	switch {
	case f11 <= fc/2 && f >= fc:
		sigma = s1
	case f11 <= fc/2:
		sigma = edgeRadiation(f, fc, l1, l2, c)
		if f < f11 && f < fc/2 {
			sigma = min(sigma, s2)
		}
	case f < fc && s2 < s3:
		sigma = s2
	case f > fc && s1 < s3:
		sigma = s1
	default:
		sigma = s3
	}
	if math.IsNaN(sigma) {
		return 2
	}
	return min(max(sigma, 0), 2)
}

// edgeRadiation is σ below f_c of a plate whose first mode lies well below f_c: edges and corners radiate.
func edgeRadiation(f, fc, l1, l2, c float64) float64 {
	lambda := math.Sqrt(f / fc)
	q := 1 - lambda*lambda
	d1 := (q*math.Log((1+lambda)/(1-lambda)) + 2*lambda) / (4 * math.Pi * math.Pi * math.Pow(q, 1.5))
	var d2 float64
	if f <= fc/2 {
		d2 = 8 * c * c * (1 - 2*lambda*lambda) / (fc * fc * math.Pow(math.Pi, 4) * l1 * l2 * lambda * math.Sqrt(q))
	}
	return 2*(l1+l2)/(l1*l2)*(c/fc)*d1 + d2
}

// ForcedRadiationEfficiency returns σ_f, the radiation efficiency of the waves that a diffuse sound field forces on a plate of l1 by l2 m,
// at most 2.
//
//	σ_f = ½ (ln(k0 √(l1 l2)) - Λ)
//	Λ   = -0.964 - (0.5 + l2/(π l1)) ln(l2/l1) + 5 l2/(2π l1) - 1/(4π l1 l2 k0²),  l1 >= l2
//	frequency  f    Hz   above 0
//	l1, l2          m    above 0
//
// The formula needs a plate of some size against the wavelength; below k0 √(l1 l2) = 1 the value falls with the square of the frequency
// as a piston's does.
// Source: ISO 12354-1:2017 Annex B; not yet compared with the printed text. Checked: testdata/published/annex_l.csv.
func ForcedRadiationEfficiency(frequency, l1, l2 float64, air Air) float64 {
	return min(forcedRadiation(frequency, l1, l2, air.SoundSpeed), 2)
}

// forcedRadiation is σ_f without the limit of 2, which large panels exceed.
func forcedRadiation(f, l1, l2, c float64) float64 {
	l1, l2 = max(l1, l2), min(l1, l2)
	k := 2 * math.Pi * f / c
	size := k * math.Sqrt(l1*l2)
	piston := 1.0
	if size < 1 {
		piston = size * size
		k /= size
		size = 1
	}
	ratio := l2 / l1
	lambda := -0.964 - (0.5+ratio/math.Pi)*math.Log(ratio) + 5*ratio/(2*math.Pi) - 1/(4*math.Pi*l1*l2*k*k)
	// Very long panels would go below zero; the floor is that of a narrow strip and only keeps the formula from breaking.
	return piston * max(0.5*(math.Log(size)-lambda), 0.02)
}
