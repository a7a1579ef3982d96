// Package acoustics calculates what a layered wall, ceiling or floor does to sound: from its layers to sound reduction in third octaves,
// from bands to single numbers, from the laboratory to the site, and from a field measurement to its rating. Every prediction carries its
// standard uncertainty; nothing here approves anything.
//
// The package is pure: no files, no clock, nothing that changes after start. Inside, a float64 without a unit in its name is in SI, in
// decibels or in hertz; at the edge every field says its unit.
//
// Where things are:
//
//	band.go curve.go rating.go rating_input.go    the 21 third-octave bands, a curve over them, ISO 717-1 and ISO 717-2 (reference.go: their curves)
//	layer.go layer_*.go                            the registry of layer kinds, then one file for each kind or family of kinds
//	material.go materials.json defaults.go         generic materials with spread and source; what is taken where a layer says nothing
//	buildup.go assemble.go predict.go notes.go     layers in, sorted into leaves and springs, prediction out, with what limits it
//	air.go plate.go leaf.go damping.go polymer.go  one leaf: bending stiffness, critical frequency, screwed, bonded and damped boards
//	radiation.go homogeneous.go                    radiation of finite panels, masonry and concrete (ISO 12354-1 Annex B)
//	fluid.go stack.go bridge.go transmission.go    wool, transfer matrices in a diffuse field, structural connections, their sum
//	slit.go leak.go composite.go                   gaps in one leaf, ways right through, surfaces of parts
//	orthotropic.go                                 what is refused because it bends in two ways
//	floor.go impact.go lining.go flanking.go       impact sound; linings and junctions of ISO 12354
//	room.go fieldtest.go wrap.go                   laboratory to site, ISO 16283, decay of wrapped steel
//	family.go accuracy.json uncertainty.go         model error by family; iso12999.go: that of measurements
//	fitted.go heldout.go                           the constants that measured rows chose, and the same chosen without each source
//	validate.go stc.go published.go verifiers.go   measured rows and published values beside the code
//	contradiction.go massrule.go                   measured rows that contradict each other; masonry beside the rules for its mass
//	patterns.go                                    findings about differences between build-ups
//	input.go decode.go decode_scan.go              InputError, Range, the one strict decoder
package acoustics
