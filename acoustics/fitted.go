package acoustics

// fitted are the constants that no table gives: each has a meaning and a range from the literature, and its place inside that range is chosen
// on the measured rows of all families that know it, together. [Validate] chooses them again without each source in turn, to see whether
// the model or the choice carries the agreement.
type fitted struct {
	// cavityEdges is α of the edges of a framed cavity, where sound that runs along the leaves meets studs and plates and leaks past them;
	// reveals is that of a cavity without framing, such as the hard reveals of a window.
	cavityEdges, reveals float64
	// panelEdges is α for bending waves of the edges of a light panel: frame, putty, gasket, seal. The loss of measured panes at f_c grows
	// with thickness as this does.
	panelEdges float64
	// masonryEdges is X of [BuiltInLoss].
	masonryEdges float64
	// dryJoints is the loss factor that friction adds to each leaf of sheets that lie on each other without glue; from memory, weak: 0.02 to 0.1.
	dryJoints float64
	// softening is the power of f with which the compliance of light steel falls above 400 Hz.
	softening float64
	// mounting and resilient are factors on the mounted loss of every kind of panel and on the compliance of bars and clips, as
	// [AllDefaults] lists them.
	mounting, resilient float64
	// raw leaves out the correction for the mean error of a family (see meanError): measured rows are to say what that error is.
	raw bool
}

var chosen = fitted{
	cavityEdges: 0.5, reveals: 0.3, panelEdges: 0.5, masonryEdges: edgesOfMasonry, dryJoints: 0.02, softening: 2, mounting: 1, resilient: 1,
}

// tries are the choices that are made again: each constant by a factor of 1.5 down and up, one at a time.
func (f fitted) tries() []fitted {
	f.raw = true
	list := []fitted{f}
	for i := range 8 {
		for _, factor := range []float64{1 / 1.5, 1.5} {
			t := f
			*[]*float64{&t.cavityEdges, &t.reveals, &t.panelEdges, &t.masonryEdges, &t.dryJoints, &t.softening, &t.mounting, &t.resilient}[i] *= factor
			list = append(list, t)
		}
	}
	return list
}

// constants are those of the assembly, by default the chosen ones.
func (a *assembly) constants() *fitted {
	if a.fit == nil {
		return &chosen
	}
	return a.fit
}
