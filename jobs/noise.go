package jobs

import "slices"

// NoiseKind is a kind of noise as people hear it. It decides what work helps, and the same six are asked for before the
// work, after it and in a complaint.
type NoiseKind struct {
	Code  string // the key of an answer from 0 to 10
	Heard string // what people say they hear
	Kind  string // airborne, impact …
	By    string // what it usually comes by
	Helps string
	Not   string // what does not help
}

// Common practice, no source.
var noiseKinds = []NoiseKind{
	{"voices", "voices, television, a baby, a dog", "airborne", "wall or floor, gaps, chimney breast, sockets, floor edges", "seal, mass, a separate leaf, absorption", "carpet"},
	{"bass", "music bass, cinema sound", "airborne, low", "resonance of the leaves, the structure", "a deep cavity, heavy separate leaves, independent support", "foam; thin linings on dabs can make it worse"},
	{"footsteps", "footsteps, dropped things, chairs", "impact", "the floor above", "a resilient layer at the source and an independent ceiling", "a wall lining alone"},
	{"bangs", "switches, doors, cupboards, stairs", "impact into the wall", "what is fixed to the party wall", "isolate at the source; an independent lining", "more wool"},
	{"pipes", "pump, boiler, lift, waste pipe, fan", "structure-borne, services", "clips, brackets, steel", "isolate the fixing, wrap, box in", "lining other walls"},
	{"other", "planes, road, rail, or something else", "external or not placed yet", "window, vent, roof", "glazing, vent, roof lining", "an internal wall"},
}

// NoiseKinds lists the kinds of noise in the order in which they are asked for.
func NoiseKinds() []NoiseKind { return slices.Clone(noiseKinds) }

func noiseCodes() []string {
	codes := make([]string, len(noiseKinds))
	for i, n := range noiseKinds {
		codes[i] = n.Code
	}
	return codes
}

// Rated gives the answer to a kind of noise, nil where it was not asked.
func (a *Answers) Rated(code string) *float64 {
	if a == nil || a.NoReply {
		return nil
	}
	return map[string]*float64{"voices": a.Voices, "bass": a.Bass, "footsteps": a.Footsteps, "bangs": a.Bangs, "pipes": a.Pipes, "other": a.Other}[code]
}
