package jobs

// AtLayer is a place: a surface, and a layer of it where one is meant.
type AtLayer struct {
	Surface string `json:"surface,omitempty" on:"surface"`
	Layer   int    `json:"layer,omitempty" on:"layer"`
}

// onLayer checks the form of a place that must name a layer.
func (p AtLayer) onLayer() error {
	if err := code("surface", p.Surface); err != nil {
		return err
	}
	return layerNumber(p.Layer)
}

// anywhere checks the form of a place that may be left out.
func (p AtLayer) anywhere() error {
	if p.Surface == "" && p.Layer == 0 {
		return nil
	}
	if err := code("surface", p.Surface); err != nil {
		return err
	}
	if p.Layer == 0 {
		return nil
	}
	return layerNumber(p.Layer)
}

// Fits refuses a surface or a layer that the job does not have.
func (p AtLayer) Fits(j *Job) error {
	if p.Surface == "" {
		return nil
	}
	s, err := j.find(p.Surface)
	if err != nil {
		return err
	}
	if p.Layer > len(s.Layers) {
		return &InputError{Field: "layer", Value: itoa(p.Layer), Range: "1 to " + itoa(len(s.Layers)), Hint: "surface " + s.Code + " has " + Count(len(s.Layers), "specified layer")}
	}
	return nil
}

// file puts a record with the surface it is on, or with those that are on none.
func (j *Job) put(r *Record) {
	if r.On.Surface == "" {
		j.elsewhere = append(j.elsewhere, r)
		return
	}
	j.surface(r.On.Surface).put(r)
}

// listRef names the layer list that a layer number counts in.
func (p AtLayer) listRef(j *Job) []Ref {
	if s := j.Surface(p.Surface); s != nil && s.List != nil && p.Layer > 0 {
		return []Ref{{s.List.Hash, Of}}
	}
	return nil
}

// anyone is the right of every member of the company.
type anyone struct{}

func (anyone) Allowed(*Job, Author) error { return nil }

// judge is the right of those who judge.
type judge struct{}

func (judge) Allowed(_ *Job, a Author) error {
	if !a.Role.Judges() {
		return refuse("this needs a supervisor")
	}
	return nil
}
