package acoustics

import (
	"slices"
	"strconv"
)

// KindDefault is what a solid layer kind takes for what its layer leaves out.
type KindDefault struct {
	// Kind is the layer kind.
	Kind string `json:"kind"`
	// WaveSpeed is c_L in m/s by density: E = c_L² ρ (1 - ν²), so a heavier board of the same kind is also stiffer.
	WaveSpeed []SpeedAt `json:"wave_speed"`
	// Poisson is ν.
	Poisson float64 `json:"poisson"`
	// LossFactor is η_int of the material.
	LossFactor float64 `json:"loss_factor"`
	// MountedLoss is added to it for a light panel built in: friction at screws, joints, studs and seals. Heavy layers take
	// [LaboratoryLoss] instead.
	MountedLoss float64 `json:"mounted_loss"`
	// Heavy layers follow ISO 12354-1 Annex B and are bonded to each other.
	Heavy  bool   `json:"heavy"`
	Source string `json:"source"`
}

// SpeedAt is c_L at a density.
type SpeedAt struct {
	DensityKgM3 float64 `json:"density_kg_m3"`
	MS          float64 `json:"m_s"`
}

const hopkinsA2 = "Hopkins, Sound Insulation, 2007, Table A2"

var kindDefaults = []KindDefault{
	{"board", []SpeedAt{{0, 1700}}, 0.3, 0.0141, 0.02, false, hopkinsA2 + " (mean of three plasterboards; mounted loss from memory, fair)"},
	{"timber_panel", []SpeedAt{{590, 2570}, {760, 2200}}, 0.3, 0.01, 0.03, false, hopkinsA2 + " (chipboard and OSB; name the material for plywood, which is stiffer)"},
	{"glass", []SpeedAt{{0, 5200}}, 0.24, 0.0045, 0.045, false, hopkinsA2 + " (mounted loss of panes in putty or gaskets chosen on all measured panes together)"},
	{"metal", []SpeedAt{{2700, 5100}, {7800, 5270}, {11300, 1250}}, 0.3, 0.0005, 0.02, false, hopkinsA2 + " (aluminium, steel; lead and mounted loss from memory, fair)"},
	{"plaster", []SpeedAt{{650, 1610}, {1600, 2450}}, 0.2, 0.012, 0.03, true, hopkinsA2},
	{"masonry", []SpeedAt{{600, 1900}, {1400, 2200}, {1750, 2700}, {2000, 3200}}, 0.2, 0.01, 0, true, hopkinsA2 + " (aircrete, lightweight block, brick, dense block)"},
	{"concrete", []SpeedAt{{0, 3800}}, 0.2, 0.005, 0, true, hopkinsA2},
	{"screed", []SpeedAt{{1600, 2450}, {2000, 3250}}, 0.2, 0.01, 0.03, true, hopkinsA2},
}

func defaultOf(kind string) KindDefault {
	i := slices.IndexFunc(kindDefaults, func(d KindDefault) bool { return d.Kind == kind })
	return kindDefaults[max(i, 0)]
}

// speed interpolates c_L between the densities given and holds it beyond them.
func (d KindDefault) speed(density float64) float64 {
	at := d.WaveSpeed
	if density <= at[0].DensityKgM3 {
		return at[0].MS
	}
	for i := 1; i < len(at); i++ {
		if density <= at[i].DensityKgM3 {
			w := (density - at[i-1].DensityKgM3) / (at[i].DensityKgM3 - at[i-1].DensityKgM3)
			return at[i-1].MS + w*(at[i].MS-at[i-1].MS)
		}
	}
	return at[len(at)-1].MS
}

// Defaults of membranes and frames.
const (
	membraneShear  = 5e6 // Pa; from memory, weak: 2 to 15 MPa
	membraneLoss   = 0.3 // from memory, weak: 0.1 to 0.5
	defaultSpacing = 0.6 // m, studs, joists and channels from centre to centre
	matLoss        = 0.4 // loss factor of a floating layer on its mat, friction and air pumped at the edges included; from memory, weak: floors dip by 3 to 6 dB at f0
)

// FrameDefault says how a kind of framing connects the two sides of its cavity.
type FrameDefault struct {
	Kind string `json:"kind"`
	// Connects is false where the framing of the two sides does not touch.
	Connects bool `json:"connects"`
	// ComplianceM2N is C_M, the compliance of a line connection for each metre run, m²/N.
	ComplianceM2N float64 `json:"compliance_m2_n"`
	// LineMassKgM is the mass of one stud or joist for each metre run, kg/m, where the layer gives no frame mass.
	LineMassKgM float64 `json:"line_mass_kg_m"`
	// EdgesOnly: the two sides share only the plates at head, foot and ends.
	EdgesOnly bool   `json:"edges_only"`
	Source    string `json:"source"`
}

var frameDefaults = []FrameDefault{
	{"none", false, 0, 0, false, "no connection"},
	{"timber_stud", true, 0, 0.75, false, "Davy 1991: rigid line; half the mass of 38 x 89 mm softwood of 440 kg/m³, for it is held at one edge"},
	{"steel_stud", true, 1e-6, 0.6, false, "Davy 2010, from memory: about 1e-6 m²/N for light steel; 5e-6 fits one measured wall in Vigran, Building Acoustics, 2008"},
	{"staggered_stud", true, 0, 0.75, true, "rigid line along the shared plates at head, foot and ends"},
	{"twin_frame", true, 0, 50, true, "both frames stand on the same floor and walls, of which about 50 kg for each metre of edge moves with them; of the order that double rows of studs reach (from memory, fair)"},
	{"independent", true, 0, 500, true, "touches neither face of the existing structure, but stands on the same floor and walls: the line impedance of a concrete slab of 460 kg/m², 2√2 m' c0 √(f/f_c)/ω, is that of 490 kg for each metre at 250 Hz (arithmetic); timber around it moves more easily"},
	{"joist", true, 0, 2.6, false, "Davy 1991: rigid line; half the mass of 50 x 235 mm softwood of 440 kg/m³, for it is held at one edge"},
}

func frameOf(kind string) FrameDefault {
	i := slices.IndexFunc(frameDefaults, func(d FrameDefault) bool { return d.Kind == kind })
	return frameDefaults[max(i, 0)]
}

// ResilientDefault is the compliance that a bar or clip adds in series.
type ResilientDefault struct {
	Kind string `json:"kind"`
	// ComplianceM2N is C_M in m²/N for each metre of bar or channel.
	ComplianceM2N float64 `json:"compliance_m2_n"`
	Source        string  `json:"source"`
}

var resilientDefaults = []ResilientDefault{
	{"bar", 1.3e-6, "chosen on all measured rows with bars together; of the order of a light steel stud"},
	{"clip", 2.6e-6, "taken as twice a bar; no measured specimen stands behind it"},
}

func resilientCompliance(kind string) float64 {
	for _, d := range resilientDefaults {
		if d.Kind == kind {
			return d.ComplianceM2N
		}
	}
	return 0
}

// Defaults is all that a prediction takes where a layer says nothing.
type Defaults struct {
	Kinds     []KindDefault      `json:"kinds"`
	Frames    []FrameDefault     `json:"frames"`
	Resilient []ResilientDefault `json:"resilient"`
	// SpacingMM is the distance of studs, joists and channels.
	SpacingMM float64 `json:"spacing_mm"`
	// MembraneShearMPa and MembraneLossFactor are those of a limp membrane.
	MembraneShearMPa   float64 `json:"membrane_shear_modulus_mpa"`
	MembraneLossFactor float64 `json:"membrane_loss_factor"`
	// MatLossFactor is that of a resilient mat.
	MatLossFactor float64 `json:"mat_loss_factor"`
	// CavityEdgeAbsorption, RevealAbsorption and PanelEdgeAbsorption are α of the edges of framed cavities, of cavities without framing and
	// of light panels.
	CavityEdgeAbsorption float64 `json:"cavity_edge_absorption"`
	RevealAbsorption     float64 `json:"reveal_absorption"`
	PanelEdgeAbsorption  float64 `json:"panel_edge_absorption"`
	// FlowResistivityKPaSM2 estimates the flow resistivity of mineral wool by its density.
	FlowResistivityKPaSM2 map[string]float64 `json:"flow_resistivity_kpa_s_m2_by_density_kg_m3"`
}

// AllDefaults lists the defaults.
func AllDefaults() Defaults {
	d := Defaults{
		Kinds: slices.Clone(kindDefaults), Frames: slices.Clone(frameDefaults), Resilient: slices.Clone(resilientDefaults),
		SpacingMM: defaultSpacing * 1000, MembraneShearMPa: membraneShear / 1e6, MembraneLossFactor: membraneLoss,
		MatLossFactor: matLoss, CavityEdgeAbsorption: chosen.cavityEdges, RevealAbsorption: chosen.reveals, PanelEdgeAbsorption: chosen.panelEdges,
		FlowResistivityKPaSM2: map[string]float64{},
	}
	for _, density := range []string{"10", "16", "24", "45", "60", "100"} {
		rho, err := strconv.ParseFloat(density, 64)
		if err == nil {
			d.FlowResistivityKPaSM2[density] = tenth(FlowResistivity(rho) / 1000)
		}
	}
	return d
}
