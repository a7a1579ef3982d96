package jobs

import (
	"slices"
	"strings"

	"tacet/acoustics"
)

var _ = registerKind[Lines]("lines", 1)

// Lines records where studs, joists, channels, pipes or cables run behind a surface, measured from one of its edges before
// they were hidden: whoever wants to fix something later has to know. The note says which edge is which where that is not
// plain, on a ceiling for example.
type Lines struct {
	Common
	AtLayer
	anyone
	What string    `json:"what"`
	From string    `json:"from"`
	AtMM []float64 `json:"at_mm"`
}

// LineRange is where a line may lie, from the edge.
var LineRange = acoustics.Range{Min: 0, Max: 100000, Unit: "mm"}

const maxLines = 200

// LineKinds lists what may run behind a surface.
func LineKinds() []string {
	return []string{"stud", "joist", "channel", "bar", "batten", "hanger", "pipe", "cable"}
}

// LineEdges lists the edges that lines are measured from, as the surface is seen from the room.
func LineEdges() []string { return []string{"left", "right", "top", "bottom"} }

// Valid checks what, from where and how far.
func (d *Lines) Valid() error {
	if err := d.anywhere(); err != nil {
		return err
	}
	if d.Surface == "" {
		return &InputError{Field: "surface", Value: "missing", Hint: "say behind which surface they run"}
	}
	if err := choice("what", d.What, LineKinds()...); err != nil {
		return err
	}
	if err := choice("from", d.From, LineEdges()...); err != nil {
		return err
	}
	if len(d.AtMM) == 0 || len(d.AtMM) > maxLines {
		return &InputError{Field: "at_mm", Value: itoa(len(d.AtMM)), Range: "1 to " + itoa(maxLines) + " lines"}
	}
	for i, mm := range d.AtMM {
		if err := LineRange.Check("at_mm["+itoa(i)+"]", mm); err != nil {
			return err
		}
	}
	return d.valid()
}

// Fits refuses a place that the job does not have, and lines beyond the surface.
func (d *Lines) Fits(j *Job) error {
	if err := d.AtLayer.Fits(j); err != nil {
		return err
	}
	s := j.Surface(d.Surface)
	if s.Kind.Along() {
		return &InputError{Field: "surface", Value: s.Code, Hint: "lines are measured on a wall, ceiling, soffit or floor"}
	}
	size := value(s.WidthM) * 1000
	if d.From == "top" || d.From == "bottom" {
		size = value(s.HeightM) * 1000
	}
	for i, mm := range d.AtMM {
		if mm > size {
			return &InputError{Field: "at_mm[" + itoa(i) + "]", Value: trim(mm), Range: "0 to " + trim(size), Unit: "mm", Hint: "the surface ends there"}
		}
	}
	return nil
}

// names replaces what was recorded of the same lines from the same edge.
func (d *Lines) names(j *Job) []Ref {
	refs := d.listRef(j)
	s := j.Surface(d.Surface)
	if s == nil {
		return refs
	}
	for _, r := range j.heads(s.of("lines", d.Layer), j.now()) {
		if o := r.What.(*Lines); o.What == d.What && o.From == d.From {
			refs = append(refs, Ref{r.Hash, Base})
		}
	}
	return refs[:min(len(refs), MaxRefs/2)]
}

func (d *Lines) apply(j *Job, r *Record) { j.put(r) }

func (d *Lines) says(*Job, *Record) string {
	var at []string
	for _, mm := range d.AtMM {
		at = append(at, trim(mm))
	}
	return d.What + " lines at " + strings.Join(at, ", ") + " mm from the " + d.From
}

// LinesOf lists the lines in force behind a surface, in the order in which they were recorded.
func (j *Job) LinesOf(s *Surface) []*Lines {
	var out []*Lines
	for _, r := range s.work {
		if d, ok := r.What.(*Lines); ok && j.InForce(r) {
			out = append(out, d)
		}
	}
	return out
}

// Across tells whether the lines run up and down the surface: they are measured from its left or right edge.
func (d *Lines) Across() bool { return d.From == "left" || d.From == "right" }

// FromStart lists where the lines lie from the left or from the top, in mm, the nearest first, on a surface of that size.
func (d *Lines) FromStart(sizeMM float64) []float64 {
	at := slices.Clone(d.AtMM)
	if d.From == "right" || d.From == "bottom" {
		for i := range at {
			at[i] = sizeMM - at[i]
		}
	}
	slices.Sort(at)
	return at
}
