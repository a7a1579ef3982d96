package acoustics

import (
	"fmt"
	"math"
)

// RulePoint is a bare wall or slab of masonry or concrete beside the rules of thumb for its mass.
type RulePoint struct {
	Material     string  `json:"material"`
	DensityKgM3  float64 `json:"density_kg_m3"`
	MassKgM2     float64 `json:"mass_kg_m2"`
	ThicknessMM  float64 `json:"thickness_mm"`
	RwDB         float64 `json:"rw_db"`
	RuleDB       float64 `json:"rule_db"`
	AircreteRule float64 `json:"aircrete_rule_db,omitempty"`
}

// ruleMaterials are the materials that are compared. Aircrete is thicker than all others of its mass, which lowers f_c and so raises what lies above
// it: its own rule lies above that for all, and so does its prediction.
var ruleMaterials = []struct {
	name, kind string
	density    float64
	aircrete   bool
}{
	{"aircrete", "masonry", 600, true}, {"aircrete", "masonry", 800, true},
	{"lightweight block", "masonry", 1000, false}, {"lightweight block", "masonry", 1400, false},
	{"brick", "masonry", 1750, false}, {"dense block", "masonry", 2000, false}, {"concrete", "concrete", 2300, false},
}

// Masses of the comparison in kg/m², and the thickness in mm beyond which walls are seldom built.
const (
	leastRuleMass, mostRuleMass, ruleStep = 150.0, 700.0, 50.0
	thickestWall                          = 450.0
)

// MassRulePoints predicts bare walls and slabs of 10 m² from 150 to 700 kg/m² in steps of 50, each material as far as walls of it are built.
func MassRulePoints() ([]RulePoint, error) {
	var out []RulePoint
	for _, m := range ruleMaterials {
		for mass := leastRuleMass; mass <= mostRuleMass; mass += ruleStep {
			thickness := math.Round(mass / m.density * 1000)
			if thickness > thickestWall {
				break
			}
			b := BuildUp{Surface: "wall", WidthM: 4, HeightM: 2.5, Layers: []Layer{{Board{Of: m.kind, Thickness: thickness, Mass: mass}}}}
			p, err := b.Predict()
			if err != nil {
				return nil, fmt.Errorf("%s of %g kg/m²: %w", m.name, mass, err)
			}
			r, err := RateAirborne(p.R)
			if err != nil {
				return nil, fmt.Errorf("%s of %g kg/m²: %w", m.name, mass, err)
			}
			point := RulePoint{Material: m.name, DensityKgM3: m.density, MassKgM2: mass, ThicknessMM: thickness, RwDB: r.OneDecimal, RuleDB: tenth(MassRule(mass))}
			if m.aircrete {
				point.AircreteRule = tenth(AircreteRule(mass))
			}
			out = append(out, point)
		}
	}
	return out, nil
}

// AircreteRule returns R_w of a wall of aircrete plastered or sealed, in dB: a check on the prediction, not part of it.
//
//	R_w = 32.6 lg m' - 22.5   50 to 150 kg/m²
//	R_w = 26.1 lg m' - 8.4    150 to 300 kg/m²
//	mass   m'   kg/m²   50 to 300
//
// Source: DIN 4109-32:2016, from memory, fair; the two pieces meet at 150 kg/m².
func AircreteRule(mass float64) float64 {
	if mass < 150 {
		return 32.6*math.Log10(mass) - 22.5
	}
	return 26.1*math.Log10(mass) - 8.4
}
