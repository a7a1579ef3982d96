package jobs

import (
	"slices"

	"tacet/acoustics"
)

// Surface is the unit of work: one wall, ceiling, floor, soffit, boxing, pipe run or beam.
type Surface struct {
	SurfaceFacts
	Specified []acoustics.Layer // the list in force, outward from the structure
	List      *Record           // the entry that gave it
	Layers    []*Layer
	Checks    []*Check
	Warnings  []string

	records []*Record             // descriptions
	lists   []*Record             // layer lists
	work    []*Record             // everything else, in fold order
	filed   map[subject][]*Record // the same, by kind and layer
	ways    []FlankingItem        // the survey's list, as settled
}

// SurfaceFacts is what a surface is, before anything is added to it.
type SurfaceFacts struct {
	Code           string            `json:"code" on:"surface"`
	Kind           SurfaceKind       `json:"kind"`
	Room           string            `json:"room,omitempty"`
	Structure      string            `json:"structure,omitempty"`
	Side           int               `json:"side,omitempty"`
	WidthM         *float64          `json:"width_m,omitempty"`
	HeightM        *float64          `json:"height_m,omitempty"`
	LengthM        *float64          `json:"length_m,omitempty"`
	GirthM         *float64          `json:"girth_m,omitempty"`
	Openings       []Opening         `json:"openings,omitempty"`
	Existing       []acoustics.Layer `json:"existing,omitempty"`
	LoadLimit      *float64          `json:"load_limit_kn_m2,omitempty"`
	ThicknessLimit *float64          `json:"thickness_limit_mm,omitempty"`
	Flanking       *Flanking         `json:"flanking,omitempty"`
}

// SurfaceKind is a wall, a ceiling and so on.
type SurfaceKind string

// The kinds of surfaces.
const (
	Wall    SurfaceKind = "wall"
	Ceiling SurfaceKind = "ceiling"
	Floor   SurfaceKind = "floor"
	Soffit  SurfaceKind = "soffit"
	Boxing  SurfaceKind = "boxing"
	PipeRun SurfaceKind = "pipe_run"
	Beam    SurfaceKind = "beam"
)

// SurfaceKinds lists them.
func SurfaceKinds() []SurfaceKind {
	return []SurfaceKind{Wall, Ceiling, Floor, Soffit, Boxing, PipeRun, Beam}
}

// Along tells whether the surface is measured by length and girth instead of width and height.
func (k SurfaceKind) Along() bool { return k == Boxing || k == PipeRun || k == Beam }

// Overhead tells whether boards are fixed overhead.
func (k SurfaceKind) Overhead() bool { return k == Ceiling || k == Soffit }

// Opening is a door, window or hatch in a surface.
type Opening struct {
	WidthM  float64 `json:"width_m"`
	HeightM float64 `json:"height_m"`
}

// GrossAreaM2 is width times height, or length times girth.
func (f SurfaceFacts) GrossAreaM2() float64 {
	if f.Kind.Along() {
		return value(f.LengthM) * value(f.GirthM)
	}
	return value(f.WidthM) * value(f.HeightM)
}

// NetAreaM2 is the gross area less the openings.
func (f SurfaceFacts) NetAreaM2() float64 {
	a := f.GrossAreaM2()
	for _, o := range f.Openings {
		a -= o.WidthM * o.HeightM
	}
	return a
}

// PerimeterM is the length of the outer edge: of a rectangle, or both long edges and both ends of what is wrapped.
func (f SurfaceFacts) PerimeterM() float64 {
	if f.Kind.Along() {
		return 2 * (value(f.LengthM) + value(f.GirthM))
	}
	return 2 * (value(f.WidthM) + value(f.HeightM))
}

func value(p *float64) float64 {
	if p == nil {
		return 0
	}
	return *p
}

// Layer finds a layer by number, 1 next to the structure.
func (s *Surface) Layer(n int) *Layer {
	if n < 1 || n > len(s.Layers) {
		return nil
	}
	return s.Layers[n-1]
}

// Check finds a check; layer 0 for one of the whole surface.
func (s *Surface) Check(code string, layer int) *Check {
	for _, c := range s.Checks {
		if c.Rule.Code == code && c.Layer == layer {
			return c
		}
	}
	return nil
}

// ChecksOf lists the checks of a layer, 0 for those of the whole surface.
func (s *Surface) ChecksOf(layer int) []*Check {
	var cs []*Check
	for _, c := range s.Checks {
		if c.Layer == layer {
			cs = append(cs, c)
		}
	}
	return cs
}

// Work lists what was recorded on the surface, the layer lists and descriptions aside, in fold order.
func (s *Surface) Work() []*Record { return slices.Clone(s.work) }

// subject is what a surface's work is looked up by.
type subject struct {
	kind  string
	layer int
}

// put files a record.
func (s *Surface) put(r *Record) {
	if s.filed == nil {
		s.filed = map[subject][]*Record{}
	}
	s.work = append(s.work, r)
	at := subject{r.Kind, r.On.Layer}
	s.filed[at] = append(s.filed[at], r)
}

// of lists the surface's work of one kind on one layer, in fold order.
func (s *Surface) of(kind string, layer int) []*Record { return s.filed[subject{kind, layer}] }

// surface returns the surface of that code, a new one if no entry has spoken of it yet: entries arrive in any order.
func (j *Job) surface(code string) *Surface {
	if s := j.Surface(code); s != nil {
		return s
	}
	s := &Surface{}
	s.Code = code
	i, _ := slices.BinarySearchFunc(j.Surfaces, code, func(s *Surface, code string) int { return compareCodes(s.Code, code) })
	j.Surfaces = slices.Insert(j.Surfaces, i, s)
	return s
}
