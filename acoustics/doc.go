// Package acoustics calculates what a layered wall, ceiling or floor does to sound: from its layers to sound reduction in third octaves,
// from bands to single numbers, from the laboratory to the site, and from a field measurement to its rating. Every prediction carries its
// standard uncertainty; nothing here approves anything.
//
// The package is pure: no files, no clock, nothing that changes after start. Inside, a float64 without a unit in its name is in SI, in
// decibels or in hertz; at the edge every field says its unit.
//
// Where things are:
//
//	band.go curve.go rating.go      the 21 third-octave bands, a curve over them, ISO 717-1 and ISO 717-2
//	layer.go layer_*.go             the registry of layer kinds, then one file for each kind
//	material.go materials.json      generic materials with spread and source
//	buildup.go                      BuildUp and Predict: the way from layers to a Prediction
//	plate.go damping.go             one leaf: bending stiffness, critical frequency, screwed, bonded and damped boards
//	radiation.go homogeneous.go     radiation of finite panels, masonry and concrete (ISO 12354-1 Annex B)
//	fluid.go stack.go               porous fill, transfer matrices over leaves and cavities, diffuse field
//	bridge.go                       studs, channels, clips and screws that bypass the cavity
//	lining.go floor.go              linings on masonry, impact sound of floors
//	leak.go                         slits, apertures, gaps in one leaf
//	room.go flanking.go             laboratory to site
//	fieldtest.go                    ISO 16283 evaluations
//	wrap.go                         decay of wrapped steel
//	uncertainty.go validate.go      model error by family, computed from measured rows
//	input.go                        InputError, Range and the one strict decoder
package acoustics
