package acoustics

import (
	"fmt"
	"slices"
)

// Contradiction is a measured row that differs from a like row by what the difference between the two can't explain. It is reported, and the
// row stays among those that count.
type Contradiction struct {
	Row  string `json:"row"`
	Like string `json:"like"`
	// Why says how the two differ, and what that can be worth.
	Why string `json:"why"`
	// Hz are the octaves; none: the single number. Measured is the row less the like one, LeastDB to MostDB what could be.
	Hz       []int     `json:"hz,omitempty"`
	Measured []float64 `json:"measured_db"`
	LeastDB  float64   `json:"least_db"`
	MostDB   float64   `json:"most_db"`
}

// likeRows are pairs of measured rows that differ in one thing. Limits: what mass law and the resonance of the cavity give for it, with the
// reproducibility of laboratories in one octave, 3 dB, on top (ISO 12999-1:2020, Table 2, 250 to 2000 Hz: 1.8 to 2.7 dB); own judgement.
var likeRows = []Contradiction{
	{Row: "B65", Like: "B70", Hz: []int{500, 1000, 2000}, LeastDB: -3, MostDB: 12,
		Why: "188 mm between the panes and 30 kg/m² against 100 mm and 27.5 kg/m²: not less"},
	{Row: "B65", Like: "B67", Hz: []int{250, 500, 1000}, LeastDB: -9, MostDB: 3,
		Why: "6 and 6 mm against 6 and 9 mm, which have absorbent reveals too: mass gives 2 dB, reveals a few"},
	{Row: "B65", Like: "B66", Hz: []int{500, 1000}, LeastDB: -9, MostDB: -2,
		Why: "the same window without absorbent reveals, which lower the sound between its panes by the ratio of their absorption"},
	{Row: "B61", Like: "R12", Hz: []int{2000}, LeastDB: -4, MostDB: 4, Why: "laminated glass of 13 mm, the same in two books"},
	{Row: "DG13", Like: "E6-6", LeastDB: -2, MostDB: 3, Why: "a sealed unit of 6 + 13 + 6 mm against the least that 6 + 12 + 6 mm of any make has"},
	{Row: "R06", Like: "H2-none-1/1", LeastDB: -2, MostDB: 2, Why: "one sheet on each side of empty metal studs, the same in two books"},
	{Row: "R08", Like: "BL190N", LeastDB: -2, MostDB: 2, Why: "block of 190 to 200 mm, the same in two books"},
	{Row: "F6", Like: "F7", LeastDB: -12, MostDB: -3, Why: "the same floor without and with channels"},
	{Row: "L5-fill-2", Like: "L5-fill-1", LeastDB: 0, MostDB: 9,
		Why: "a second lining like the first on the other side: unfilled it loses 1 dB, ISO 12354-1 gives half of the first"},
}

// Contradictions compares like rows and returns those that differ by more than they can.
func Contradictions(rows []Specimen) ([]Contradiction, error) {
	var out []Contradiction
	for _, c := range likeRows {
		row, like := rowOf(rows, c.Row), rowOf(rows, c.Like)
		if row == nil || like == nil {
			return nil, fmt.Errorf("like rows %s and %s: one of them is not there", c.Row, c.Like)
		}
		beyond := false
		for _, hz := range c.Hz {
			i := slices.Index(octavesHz, hz)
			if i >= len(row.octaves) || i >= len(like.octaves) {
				return nil, fmt.Errorf("like rows %s and %s: no octave of %d Hz", c.Row, c.Like, hz)
			}
			c.Measured = append(c.Measured, row.octaves[i]-like.octaves[i])
		}
		if len(c.Hz) == 0 {
			c.Measured = []float64{row.Measured - like.Measured}
		}
		for _, d := range c.Measured {
			beyond = beyond || d < c.LeastDB || d > c.MostDB
		}
		if beyond {
			out = append(out, c)
		}
	}
	return out, nil
}

// contradictedBy is how many like rows must contradict a row before it is the odd one: of two alone either may be wrong.
const contradictedBy = 2

// standsOut tells whether a row is the odd one in its octaves.
func standsOut(list []Contradiction, id string) bool {
	n := 0
	for _, c := range list {
		if c.Row == id && len(c.Hz) > 0 {
			n++
		}
	}
	return n >= contradictedBy
}

func rowOf(rows []Specimen, id string) *Specimen {
	if i := slices.IndexFunc(rows, func(s Specimen) bool { return s.ID == id }); i >= 0 {
		return &rows[i]
	}
	return nil
}
