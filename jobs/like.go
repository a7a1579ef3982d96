package jobs

import (
	"encoding/json"
	"fmt"
	"strings"
)

// spec is the layer list's own record, nil before there is one.
func (s *Surface) spec() *Specify {
	if s.List == nil {
		return nil
	}
	switch d := s.List.What.(type) {
	case *Specify:
		return d
	case *Respecify:
		return &d.Specify
	}
	return nil
}

// BuildUp is the code of the starting build-up that the specification came from, empty for none.
func (s *Surface) BuildUp() string {
	if d := s.spec(); d != nil {
		return d.BuildUp
	}
	return ""
}

// Likeness marks where a surface differs from the one that its specification was copied from.
type Likeness struct {
	Surface     string   `json:"surface"`
	Differences []string `json:"differences"`
}

// Likeness compares a surface with the one it was copied from, as both stand now; nil for none.
func (j *Job) Likeness(s *Surface) *Likeness {
	d := s.spec()
	if d == nil || d.Like == "" {
		return nil
	}
	like := Likeness{Surface: d.Like, Differences: []string{}}
	from := j.Surface(d.Like)
	if from == nil {
		like.Differences = append(like.Differences, "there is no surface "+d.Like+" any more")
		return &like
	}
	differ := func(format string, args ...any) {
		like.Differences = append(like.Differences, fmt.Sprintf(format, args...))
	}
	for i := range max(len(s.Specified), len(from.Specified)) {
		switch {
		case i >= len(s.Specified):
			differ("layer %d: not here; %s has %s", i+1, from.Code, NameOf(from.Specified[i]))
		case i >= len(from.Specified):
			differ("layer %d: %s here; not on %s", i+1, NameOf(s.Specified[i]), from.Code)
		case !sameLayer(s.Specified[i], from.Specified[i]):
			here, there := NameOf(s.Specified[i]), NameOf(from.Specified[i])
			if here == there {
				differ("layer %d: %s of %s kg/m² here, %s kg/m² on %s", i+1, here, trim(round(s.Specified[i].MassKgM2())), trim(round(from.Specified[i].MassKgM2())), from.Code)
			} else {
				differ("layer %d: %s here, %s on %s", i+1, here, there, from.Code)
			}
		}
	}
	if s.Kind != from.Kind {
		differ("a %s here, a %s on %s", words(string(s.Kind)), words(string(from.Kind)), from.Code)
	}
	if a, b := s.ThicknessLimit, from.ThicknessLimit; (a == nil) != (b == nil) || a != nil && *a != *b {
		differ("thickness limit %s here, %s on %s", limitWords(a, "mm"), limitWords(b, "mm"), from.Code)
	}
	return &like
}

func limitWords(v *float64, unit string) string {
	if v == nil {
		return "none"
	}
	return trim(*v) + " " + unit
}

// CopySpecification returns the records that give other surfaces the specification of one, details of its layers included:
// forty equal flats are specified once. Surfaces that have a list already are respecified, for the given reason.
func (j *Job) CopySpecification(from string, to []string, reason string) ([]json.RawMessage, error) {
	source, err := j.find(from)
	if err != nil {
		return nil, err
	}
	var edges []json.RawMessage
	for i, c := range to {
		s, err := j.find(c)
		if err != nil {
			return nil, under("to["+itoa(i)+"]", err)
		}
		if strings.EqualFold(s.Code, source.Code) {
			return nil, &InputError{Field: "to[" + itoa(i) + "]", Value: c, Hint: "a surface is not copied to itself"}
		}
		edge, err := specifyAs(s, map[string]any{"like": source.Code}, reason)
		if err != nil {
			return nil, err
		}
		edges = append(edges, edge)
	}
	return edges, nil
}

// specifyAs is the record that specifies a surface by a word for its layers, or anew where it has some already.
func specifyAs(s *Surface, m map[string]any, reason string) (json.RawMessage, error) {
	m["do"], m["surface"] = "specify", s.Code
	if s.List != nil {
		if err := text("reason", reason, 1, 1000); err != nil {
			return nil, err
		}
		m["do"], m["reason"] = "respecify", reason
	}
	return encode(m)
}
