package jobs

import (
	"slices"

	"tacet/acoustics"
)

// Effect is what a surface comes to once it is finished: what is in place as it was fitted, the rest as it is to be.
type Effect struct {
	LayerMassKgM2 float64  `json:"layer_mass_kg_m2"`
	MassKgM2      float64  `json:"mass_kg_m2"`
	ThicknessMM   float64  `json:"thickness_mm"`
	LoadKNM2      float64  `json:"load_kn_m2"`
	OnStructure   *float64 `json:"structure_load_kn_m2"` // of all surfaces on the structure
	LoadLimit     *float64 `json:"load_limit_kn_m2"`
	Screws        []Screw  `json:"screws"`
	Predicted     Forecast `json:"predicted"`
}

// Screw is the window of one layer.
type Screw struct {
	Layer int `json:"layer"`
	ScrewView
}

// SubstitutionEffect is what another material in the place of a layer's own does, for whoever has to answer.
type SubstitutionEffect struct {
	Surface string          `json:"surface"`
	Layer   int             `json:"layer"`
	Entry   string          `json:"entry"`
	State   SubstituteState `json:"state"`
	Instead string          `json:"instead"` // of what
	New     string          `json:"new"`
	Reason  string          `json:"reason"`
	Without Effect          `json:"without"`
	With    Effect          `json:"with"`
}

// OpenEffects lists the substitutions that wait for an answer, each with its effect.
func (j *Job) OpenEffects() []SubstitutionEffect {
	out := []SubstitutionEffect{}
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			if r := j.OpenSubstitute(s, l.N); r != nil {
				out = append(out, j.EffectOf(s, l, r))
			}
		}
	}
	return out
}

// EffectOf works out what a substitution of a layer does: everything that has to be known before it is answered.
func (j *Job) EffectOf(s *Surface, l *Layer, r *Record) SubstitutionEffect {
	d := r.What.(*Substitute)
	e := SubstitutionEffect{Surface: s.Code, Layer: l.N, Entry: r.ID, State: d.State, Instead: l.SpecifiedName(), Reason: d.Reason, Without: j.finished(s, l, l.Specified)}
	if d.LayerNew != nil {
		e.New, e.With = NameOf(*d.LayerNew), j.finished(s, l, *d.LayerNew)
	}
	// Of the same name they differ in what they weigh.
	if e.New == e.Instead {
		e.Instead += ", " + trim(e.Without.LayerMassKgM2) + " kg/m²"
		e.New += ", " + trim(e.With.LayerMassKgM2) + " kg/m²"
	}
	return e
}

// finished is the effect with e as the layer, on a copy of the job in which nothing else differs.
func (j *Job) finished(s *Surface, l *Layer, e acoustics.Layer) Effect {
	changed := *l
	changed.Now, changed.Share, changed.InstalledMass, changed.Installs = e, 0, 0, nil
	surface := *s
	surface.Layers = slices.Clone(s.Layers)
	surface.Layers[l.N-1] = &changed
	job := *j
	job.Surfaces = slices.Clone(j.Surfaces)
	job.Surfaces[slices.Index(j.Surfaces, s)] = &surface

	out := Effect{LayerMassKgM2: round(e.MassKgM2()), ThicknessMM: surface.ThicknessMM(), LoadKNM2: job.AddedLoad(&surface), LoadLimit: s.LoadLimit, Screws: []Screw{}, Predicted: job.forecast(&surface, asFinished)}
	for _, x := range surface.Layers {
		out.MassKgM2 += x.Carries()
		if w := surface.screwView(x); w != nil {
			out.Screws = append(out.Screws, Screw{x.N, *w})
		}
	}
	out.MassKgM2 = round(out.MassKgM2)
	if st := job.Structure(s.Structure); st != nil {
		load := job.StructureLoad(st)
		out.OnStructure = &load
		if st.LoadLimit != nil {
			out.LoadLimit = st.LoadLimit
		}
	}
	return out
}
