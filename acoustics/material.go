package acoustics

import (
	_ "embed"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
)

// Material is a generic material: never a brand. Its values are typical; Spread says how far real ones lie around them.
type Material struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// Kinds are the layer kinds it may be used in.
	Kinds []string `json:"kinds"`
	// DensityKgM3 is ρ in kg/m³.
	DensityKgM3 float64 `json:"density_kg_m3"`
	// YoungsModulusGPa is E in GPa; 0 for limp materials.
	YoungsModulusGPa float64 `json:"youngs_modulus_gpa,omitempty"`
	// AcrossGPa is E across the grain in GPa, where it differs.
	AcrossGPa float64 `json:"youngs_modulus_across_gpa,omitempty"`
	// Poisson is Poisson's ratio.
	Poisson float64 `json:"poisson,omitempty"`
	// LossFactor is the internal loss factor.
	LossFactor float64 `json:"loss_factor"`
	// ShearModulusMPa is G in MPa, for membranes and damping compounds.
	ShearModulusMPa float64 `json:"shear_modulus_mpa,omitempty"`
	Spread          string  `json:"spread"`
	Source          string  `json:"source"`
}

//go:embed materials.json
var materialsJSON []byte

var materials = readMaterials(materialsJSON)

func readMaterials(data []byte) []Material {
	var list []Material
	if err := json.Unmarshal(data, &list); err != nil {
		panic("materials.json: " + err.Error()) // part of the program: every test finds it
	}
	slices.SortFunc(list, func(a, b Material) int { return strings.Compare(a.ID, b.ID) })
	return list
}

// Materials lists the generic materials, sorted by id.
func Materials() []Material { return slices.Clone(materials) }

// MaterialByID finds a material.
func MaterialByID(id string) (Material, bool) {
	i := slices.IndexFunc(materials, func(m Material) bool { return m.ID == id })
	if i < 0 {
		return Material{}, false
	}
	return materials[i], true
}

// massOf is a surface mass in kg/m² as it was given, or that of so many mm of a material.
func massOf(given, thickness float64, material string) float64 {
	if given == 0 {
		if m, ok := MaterialByID(material); ok {
			return m.DensityKgM3 * thickness / 1000
		}
	}
	return given
}

// validMaterial refuses an id that is unknown, or of a material that does not belong into a layer of this kind.
func validMaterial(field, id, kind string) error {
	if id == "" {
		return nil
	}
	m, ok := MaterialByID(id)
	if !ok {
		if err := refuseOrthotropic(field, id); err != nil {
			return err
		}
		return &InputError{Field: field, Value: strconv.Quote(shorten(id)) + ", which is not in the list", Hint: "known for " + kind + ": " + strings.Join(materialsFor(kind), ", ")}
	}
	if !slices.Contains(m.Kinds, kind) {
		return &InputError{Field: field, Value: strconv.Quote(id), Hint: "it is for " + strings.Join(m.Kinds, ", ") + "; known for " + kind + ": " + strings.Join(materialsFor(kind), ", ")}
	}
	return nil
}

func materialsFor(kind string) []string {
	var ids []string
	for _, m := range materials {
		if slices.Contains(m.Kinds, kind) {
			ids = append(ids, m.ID)
		}
	}
	return ids
}
