package acoustics

// ReferenceAirborne is the reference curve of ISO 717-1, 100 to 3150 Hz, moved so that it reads value at 500 Hz: the place at
// which a curve of that rating is compared with it.
func ReferenceAirborne(value int) Curve { return moved(airborneReference, value-52) }

// ReferenceImpact is the reference curve of ISO 717-2, 100 to 3150 Hz, moved so that it reads value at 500 Hz.
func ReferenceImpact(value int) Curve { return moved(impactReference, value-60) }

func moved(reference [16]float64, by int) Curve {
	db := make([]float64, len(reference))
	for i, v := range reference {
		db[i] = v + float64(by)
	}
	return CurveFrom(100, db...)
}
