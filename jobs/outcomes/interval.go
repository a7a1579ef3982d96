package outcomes

import "gonum.org/v1/gonum/stat/distuv"

// Interval runs from Low to High, both included, in the unit of what it belongs to.
type Interval struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Holds tells whether v lies in the interval.
func (i Interval) Holds(v float64) bool { return i.Low <= v && v <= i.High }

// Width is High less Low.
func (i Interval) Width() float64 { return i.High - i.Low }

// Level is the confidence of every interval shown: 95 %.
const Level = 0.95

// normalQuantile returns z with Φ(z) = p.
func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// twoSided returns z for a two-sided interval of the level: 1.960 for 0.95.
func twoSided(level float64) float64 { return normalQuantile(1 - (1-level)/2) }
