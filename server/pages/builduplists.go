package pages

import (
	"tacet/jobs"
)

// listing is what a sheet writes: the layers of a specification, or those that exist.
type listing struct {
	key string // of the layers in the record
	// subject finds what the list belongs to; base is what else the record has to say of it.
	subject func(v *visit) (j *jobs.Job, s *jobs.Surface, st *jobs.Structure, err error)
	layers  func(j *jobs.Job, s *jobs.Surface, st *jobs.Structure) (draft, error)
	base    func(s *jobs.Surface, st *jobs.Structure) (map[string]any, error)
}

func onSurface(v *visit) (*jobs.Job, *jobs.Surface, *jobs.Structure, error) {
	j, s, err := v.surface()
	return j, s, nil, err
}

var specifying = listing{key: "specified", subject: onSurface,
	layers: func(j *jobs.Job, s *jobs.Surface, _ *jobs.Structure) (draft, error) {
		d, err := draftOf(s.Specified, detailsOf(j, s))
		d.BuildUp = s.BuildUp()
		return d, err
	},
	base: func(s *jobs.Surface, _ *jobs.Structure) (map[string]any, error) {
		edge := map[string]any{"do": "specify", "surface": s.Code}
		if s.List != nil {
			edge["do"] = "respecify"
		}
		return edge, nil
	}}

var existingHere = listing{key: "existing", subject: onSurface,
	layers: func(_ *jobs.Job, s *jobs.Surface, _ *jobs.Structure) (draft, error) { return draftOf(s.Existing, nil) },
	base: func(s *jobs.Surface, _ *jobs.Structure) (map[string]any, error) {
		edge, err := treeOf(s.SurfaceFacts)
		if err == nil {
			edge["do"] = "surface"
		}
		return edge, err
	}}

var existingThere = listing{key: "existing", subject: func(v *visit) (*jobs.Job, *jobs.Surface, *jobs.Structure, error) {
	j, err := v.job()
	if err != nil {
		return nil, nil, nil, err
	}
	st := j.Structure(v.param("structure"))
	if st == nil {
		return nil, nil, nil, jobs.ErrNotFound
	}
	return j, nil, st, nil
},
	layers: func(_ *jobs.Job, _ *jobs.Surface, st *jobs.Structure) (draft, error) {
		return draftOf(st.Existing, nil)
	},
	base: func(_ *jobs.Surface, st *jobs.Structure) (map[string]any, error) {
		edge, err := treeOf(structureFacts(st))
		if err == nil {
			edge["do"] = "structure"
		}
		return edge, err
	}}

// detailsOf gathers what is specified of the layers beyond the list.
func detailsOf(j *jobs.Job, s *jobs.Surface) []jobs.ListDetail {
	var ds []jobs.ListDetail
	for _, l := range s.Layers {
		if d := s.Detail(j, l.N); d != nil {
			ds = append(ds, jobs.ListDetail{Layer: l.N, DetailFacts: *d})
		}
	}
	return ds
}
