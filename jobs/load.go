package jobs

// gravity turns a mass in kg/m² into a load in kN/m², with g = 9.81 m/s².
const gravity = 0.00981

// AddedLoad is the load of a surface's added layers in kN/m²: of what is specified until it is in place, then of what is.
// It is a sum, never a judgement: whether a structure carries it is for a structural engineer.
func (j *Job) AddedLoad(s *Surface) float64 {
	return round(s.carries() * gravity)
}

// CarriedMass is the mass that AddedLoad is the load of, kg/m².
func (s *Surface) CarriedMass() float64 { return round(s.carries()) }

func (s *Surface) carries() float64 {
	var m float64
	for _, l := range s.Layers {
		m += l.Carries()
	}
	return m
}

// StructureLoad is the added load of all surfaces on a structure, kN/m².
func (j *Job) StructureLoad(st *Structure) float64 {
	var sum float64
	for _, s := range j.On(st) {
		sum += j.AddedLoad(s)
	}
	return round(sum)
}
