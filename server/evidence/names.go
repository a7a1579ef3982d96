package evidence

// names says in words what the published values of a file's "what" are about.
var names = map[string]string{
	"above_critical": "Sound reduction above the critical frequency", "absorption_length": "Equivalent absorption length of an element", "adapted_level": "Spectrum adaptation to 5000 Hz",
	"airborne": "Single number of airborne sound", "airborne_octaves": "Single number of airborne sound from octaves", "at_most": "The most a share can be where nothing happened",
	"band_path": "Sound along a flanking path, band by band", "bonded": "Two sheets glued to one", "bridge": "Sound bridges between two leaves", "built_in_loss": "Loss factor of a built-in element",
	"composite": "Several parts in one partition", "corner": "Vibration reduction at a corner", "corners": "Low-frequency level from the corners of a room", "critical_product": "Critical frequency times thickness",
	"cross": "Vibration reduction at a rigid cross junction", "decay": "Decay time of a structure", "delany_bazley": "Porous material by Delany and Bazley", "difference": "Limits of the difference of two shares",
	"double_leaf": "Vibration reduction between a light double leaf and a heavy element", "effective_critical": "Critical frequency of thick elements", "equivalent_impact": "Equivalent impact level of a bare floor",
	"exact": "Exact limits of a share", "facade": "Vibration reduction at a light facade", "field": "Correction for background sound", "firth": "Regression of rare events by Firth",
	"flanking_path": "Sound along a flanking path, single number", "floating": "Improvement by a floating floor, band by band", "floating_weighted": "Improvement by a floating floor, single number",
	"impact": "Single number of impact sound", "impact_flanking": "Correction for flanking impact sound", "impact_octaves": "Single number of impact sound from octaves", "impact_paths": "Sum of impact paths",
	"interlayer": "Elastic interlayer in a junction", "kaplan_meier": "Share without an event over time", "least_k": "The least vibration reduction of a junction", "level_difference": "Level difference across a junction",
	"limp": "Sound reduction of a limp sheet", "lining_improvement": "Improvement by a lining", "lining_resonance": "Resonance of a lining", "mass_law": "Sound reduction by mass at normal incidence",
	"mass_rule": "Rule for the mass of masonry and concrete", "mean_level": "Mean level over positions", "measured_bands": "Uncertainty of measured bands", "measured_uncertainty": "Uncertainty of measured single numbers",
	"miki": "Porous material by Miki", "optimum_loss": "The most damping that a thin core can give", "paired": "Interval of paired differences", "polymer": "Stiffness and damping of polymers",
	"probability": "Chance of meeting a target", "resonance": "Resonance of two masses on a spring", "sandwich": "Bending of a damped sandwich", "sigma": "Radiation efficiency, free waves", "sigma_forced": "Radiation efficiency, forced waves",
	"site": "From the laboratory to the site", "situ_loss": "Total loss factor in the building", "situ_r": "Sound reduction in the building", "slab_and_reduction": "Impact level and sound reduction of one slab",
	"slab_impact": "Impact level of a slab", "slit": "Sound through a slit", "slit_plane": "Sound through a slit, plane wave", "spectrum_sum": "Sum of the reference spectra", "t": "Vibration reduction at a rigid T junction",
	"thickness": "Vibration reduction at a change of thickness", "two_linings": "Linings on both sides", "wilson": "Limits of a share by Wilson", "wrap": "Damping of a wrapped member",
}

// Name says in words what the values are about; what has none is said as it is spelt.
func (p Published) Name() string {
	if n, ok := names[p.What]; ok {
		return n
	}
	return p.What
}
