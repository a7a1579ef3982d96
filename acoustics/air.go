package acoustics

// Air is the air on both sides of a partition.
type Air struct {
	// SoundSpeed c0 in m/s and Density ρ0 in kg/m³.
	SoundSpeed, Density float64
}

// StandardAir is air at 20 °C: c0 = 343 m/s, ρ0 = 1.204 kg/m³. The worked examples of ISO 12354 use 340 m/s and 1.29 kg/m³ instead.
var StandardAir = Air{SoundSpeed: 343, Density: 1.204}

// Short names of the standard air for the inner formulas.
const (
	c0   = 343.0
	rho0 = 1.204
	z0   = rho0 * c0 // characteristic impedance of air, Pa·s/m
	p0   = 101325.0  // static pressure, Pa: the isothermal stiffness of air in wool
)
