package acoustics

import (
	"math"
	"strconv"
)

// Predict calculates what the build-up does in a laboratory: bands, single numbers, their uncertainty and what limits them.
func (b BuildUp) Predict() (Prediction, error) { return b.predict(&chosen) }

func (b BuildUp) predict(fit *fitted) (Prediction, error) {
	if err := b.Valid(); err != nil {
		return Prediction{}, err
	}
	a, err := b.assemble(fit)
	if err != nil {
		return Prediction{}, err
	}
	if err := b.addDefects(&a); err != nil {
		return Prediction{}, err
	}
	p := Prediction{CriticalHz: b.criticals(), ResonanceHz: []float64{}, Notes: []string{}}
	for _, l := range b.Layers {
		p.MassKgM2 += l.MassKgM2()
		p.ThicknessMM += l.ThicknessMM()
	}
	p.MassKgM2, p.ThicknessMM = tidy(p.MassKgM2), tidy(p.ThicknessMM)
	for i := range a.springs {
		if f0 := a.resonance(i); f0 > 0 {
			p.ResonanceHz = append(p.ResonanceHz, tenth(f0))
		}
	}
	through := a.transmission()
	p.R = reduction(through)
	r, err := RateAirborne(p.R)
	if err != nil {
		return Prediction{}, err
	}
	p.RwDB, p.CDB, p.CtrDB = r.Value, r.C, r.Ctr
	b.impact(&a, through, &p)
	var notes []string
	p.UDB, p.Validated, notes = b.uncertainty(&a, p.RwDB)
	p.Notes = append(append(p.Notes, b.validityNotes(&a, p)...), notes...)
	return p, nil
}

// criticals lists f_c of each layer with bending stiffness, in order.
func (b BuildUp) criticals() []float64 {
	list := []float64{}
	for _, l := range b.Layers {
		if board, ok := plain(l.Element).(Board); ok {
			list = append(list, math.Round(board.ply().critical()))
		}
	}
	return list
}

// addDefects puts slits into their leaves and points into their cavities.
func (b BuildUp) addDefects(a *assembly) error {
	for i, g := range b.Gaps {
		if g.Leaf > len(a.leaves) {
			return &InputError{Field: indexed("gaps", i) + ".leaf", Value: strconv.Itoa(g.Leaf), Range: "1 to " + strconv.Itoa(len(a.leaves))}
		}
		l := &a.leaves[g.Leaf-1]
		l.slits = append(l.slits, slit{length: g.LengthM, width: g.WidthMM / 1000, depth: g.DepthMM / 1000})
	}
	for i, p := range b.PointBridges {
		if p.Cavity > len(a.springs) {
			field := indexed("point_bridges_per_m2", i) + ".cavity"
			if len(a.springs) == 0 {
				return &InputError{Field: field, Value: strconv.Itoa(p.Cavity), Hint: "this build-up has no cavity between two leaves that a point could bridge"}
			}
			return &InputError{Field: field, Value: strconv.Itoa(p.Cavity), Range: "1 to " + strconv.Itoa(len(a.springs)), Hint: "cavities count from the first, adjacent ones as one"}
		}
		if p.N > 0 {
			a.springs[p.Cavity-1].points = append(a.springs[p.Cavity-1].points, Bridge{PerM2: p.N})
		}
	}
	return nil
}

// tidy takes the noise of binary fractions off a sum: nine decimals are more than any input has.
func tidy(v float64) float64 { return math.Round(v*1e9) / 1e9 }
