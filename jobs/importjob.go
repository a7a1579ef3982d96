package jobs

import (
	"encoding/json"
	"errors"
	"strings"

	"tacet/acoustics"
)

// ImportFile is a whole job as a file. Only the name and the surfaces are needed.
type ImportFile struct {
	Name       string            `json:"name"`
	Site       string            `json:"site,omitempty"`
	Targets    []Target          `json:"targets,omitempty"`
	Rooms      []ImportRoom      `json:"rooms,omitempty"`
	Structures []ImportStructure `json:"structures,omitempty"`
	Surfaces   []ImportSurface   `json:"surfaces"`
}

// ImportRoom is a room of an imported job.
type ImportRoom struct {
	Code     string   `json:"code"`
	Name     string   `json:"name,omitempty"`
	VolumeM3 *float64 `json:"volume_m3,omitempty"`
	RoomFacts
}

// ImportStructure is a structure of an imported job.
type ImportStructure struct {
	Code      string            `json:"code"`
	Name      string            `json:"name,omitempty"`
	Existing  []acoustics.Layer `json:"existing,omitempty"`
	LoadLimit *float64          `json:"load_limit_kn_m2,omitempty"`
}

// ImportSurface is a surface of an imported job with its layer list.
type ImportSurface struct {
	SurfaceFacts
	Specified []acoustics.Layer `json:"specified,omitempty"`
	// Details say more of the layers, each by its number.
	Details []ListDetail `json:"details,omitempty"`
	// Like copies the list of a surface further up, BuildUp takes a starting build-up, where no list is given.
	Like    string `json:"like,omitempty"`
	BuildUp string `json:"build_up,omitempty"`
}

const maxSurfaces = 500

// Import checks a job file as a whole and returns the records that make it, ready to be recorded in one go.
func Import(data []byte) ([]json.RawMessage, error) {
	var f ImportFile
	if err := acoustics.Decode(data, &f); err != nil {
		return nil, err
	}
	if err := f.valid(); err != nil {
		return nil, err
	}
	tree, err := parseTree(data)
	if err != nil {
		return nil, &InputError{Field: "job", Value: err.Error()}
	}
	m := tree.(map[string]any) // Decode has read it as an object
	var edges []json.RawMessage
	add := func(do string, v map[string]any) error {
		v["do"] = do
		edge, err := encode(v)
		if err != nil {
			return err
		}
		edges = append(edges, edge)
		return nil
	}
	job := map[string]any{}
	for _, key := range []string{"name", "site", "targets"} {
		if v, ok := m[key]; ok {
			job[key] = v
		}
	}
	errs := []error{add("job", job)}
	for _, group := range []struct{ key, do string }{{"rooms", "room"}, {"structures", "structure"}, {"surfaces", "surface"}} {
		list, _ := m[group.key].([]any)
		for _, v := range list {
			o := v.(map[string]any)
			list := map[string]any{"surface": o["code"]}
			for _, key := range []string{"specified", "details", "like", "build_up"} {
				if given, ok := o[key]; ok {
					list[key] = given
					delete(o, key)
				}
			}
			errs = append(errs, add(group.do, o))
			if len(list) > 1 {
				errs = append(errs, add("specify", list))
			}
		}
	}
	return edges, errors.Join(errs...)
}

func (f ImportFile) valid() error {
	head := Describe{Name: f.Name, Site: f.Site, Targets: f.Targets}
	if err := head.Valid(); err != nil {
		return err
	}
	if len(f.Surfaces) == 0 || len(f.Surfaces) > maxSurfaces {
		return &InputError{Field: "surfaces", Value: itoa(len(f.Surfaces)), Range: "1 to " + itoa(maxSurfaces)}
	}
	codes := map[string]bool{}
	once := func(path, kind, c string) error {
		key := kind + strings.ToUpper(c)
		if codes[key] {
			return &InputError{Field: path + ".code", Value: c, Hint: "another " + kind + " has this code"}
		}
		codes[key] = true
		return nil
	}
	structures := map[string][]acoustics.Layer{}
	for i, r := range f.Rooms {
		path := "rooms[" + itoa(i) + "]"
		if err := under(path, (&DescribeRoom{Code: r.Code, Name: r.Name, VolumeM3: r.VolumeM3, RoomFacts: r.RoomFacts}).Valid()); err != nil {
			return err
		}
		if err := once(path, "room", r.Code); err != nil {
			return err
		}
	}
	for i, s := range f.Structures {
		path := "structures[" + itoa(i) + "]"
		if err := under(path, (&DescribeStructure{Code: s.Code, Name: s.Name, Existing: s.Existing, LoadLimit: s.LoadLimit}).Valid()); err != nil {
			return err
		}
		if err := once(path, "structure", s.Code); err != nil {
			return err
		}
		structures[s.Code] = s.Existing
	}
	for i, s := range f.Surfaces {
		path := "surfaces[" + itoa(i) + "]"
		if err := under(path, s.SurfaceFacts.valid()); err != nil {
			return err
		}
		if err := once(path, "surface", s.Code); err != nil {
			return err
		}
		if s.Room != "" && !codes["room"+strings.ToUpper(s.Room)] {
			return &InputError{Field: path + ".room", Value: s.Room, Hint: "no room of this file has that code"}
		}
		existing := s.Existing
		if s.Structure != "" {
			layers, ok := structures[s.Structure]
			if !ok {
				return &InputError{Field: path + ".structure", Value: s.Structure, Hint: "no structure of this file has that code"}
			}
			existing = layers
		}
		if err := under(path, validLayers("specified", s.Specified)); err != nil {
			return err
		}
		if err := under(path, fitsExisting("specified", s.Specified, existing)); err != nil {
			return err
		}
		if err := under(path, validDetails("details", s.Details, len(s.Specified))); err != nil {
			return err
		}
		if s.Like != "" && (!codes["surface"+strings.ToUpper(s.Like)] || strings.EqualFold(s.Like, s.Code)) {
			return &InputError{Field: path + ".like", Value: s.Like, Hint: "no surface further up in this file has that code"}
		}
		if _, ok := BuildUpByCode(s.BuildUp); s.BuildUp != "" && !ok && s.Specified == nil {
			return &InputError{Field: path + ".build_up", Value: s.BuildUp, Hint: "no starting build-up has that code; give the layers"}
		}
	}
	return nil
}

// under puts a path in front of the field that an error names.
func under(path string, err error) error {
	var input *InputError
	if errors.As(err, &input) {
		return input.At(path)
	}
	return err
}
