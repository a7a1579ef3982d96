// Package drawing draws a surface in section, as the trade's own drawings do: the existing structure first, each layer outward
// in the order it goes on, thickness to scale, the layer's number beside it and the room on the far side. Walls run from left to
// right, floors upward, ceilings and soffits downward; pipes are ringed, beams and stacks boxed.
//
// A [Section] is laid out once, into a list of [Shape] values: polygons, lines and words. Pages render the list as SVG, paper
// draws the same list on a PDF, so that whoever has read one sheet can read every screen. Material shows by hatch, state by
// outline and mark, never by colour alone.
//
// Map: section.go what may be drawn; words.go how it is said; scale.go thickness; place.go where stack coordinates land;
// slab.go, hatch.go, frame.go and defect.go one slab; layout.go the whole, with upright.go walls, across.go ceilings and floors,
// round.go what surrounds a member, labels.go the numbers, notes.go the words beneath; mini.go the same without words, small; legend.go and
// mark.go what helps to read it; text.go how wide words are, unbroken.go what stays together on a line; shape.go and svg.go the output. charts.go and the files charts_*.go draw
// curves, dots, intervals and steps from the same shapes.
package drawing

// Kind is the kind of surface; the values are those of a job's surfaces.
type Kind string

// The kinds of surface.
const (
	Wall    Kind = "wall"
	Ceiling Kind = "ceiling"
	Floor   Kind = "floor"
	Soffit  Kind = "soffit"
	Boxing  Kind = "boxing"
	PipeRun Kind = "pipe_run"
	Beam    Kind = "beam"
)

// Hatch is the way a material is drawn.
type Hatch string

// The hatches. An unknown one is drawn as Air: outlined and left white.
const (
	Masonry    Hatch = "masonry"
	Concrete   Hatch = "concrete"
	Timber     Hatch = "timber"
	Board      Hatch = "board"
	DenseBoard Hatch = "dense_board"
	Wool       Hatch = "wool"
	Membrane   Hatch = "membrane"
	Mat        Hatch = "mat"
	Metal      Hatch = "metal"
	Air        Hatch = "air"
	Plaster    Hatch = "plaster"
	Screed     Hatch = "screed"
	Glass      Hatch = "glass"
	LooseFill  Hatch = "loose_fill"
)

// State is how far a layer has come; the values are those of a job's layers. The existing structure has none ("").
type State string

// The states of a layer.
const (
	Specified     State = "specified"
	Delivered     State = "delivered"
	PartInstalled State = "part_installed"
	Installed     State = "installed"
	Ready         State = "ready"
	Accepted      State = "accepted"
	Covered       State = "covered"
	CoveredUnseen State = "covered_unseen"
	ToPutRight    State = "to_put_right"
	PutRight      State = "put_right"
	Disputed      State = "disputed"
)

// Frame is what stands in a cavity and holds what is outward of it; the values are those of a cavity's frame.
type Frame string

// The frames. The empty one draws nothing.
const (
	NoFrame       Frame = ""
	TimberStud    Frame = "timber_stud"
	SteelStud     Frame = "steel_stud"
	StaggeredStud Frame = "staggered_stud"
	TwinFrame     Frame = "twin_frame"
	Independent   Frame = "independent"
	Joist         Frame = "joist"
)

// Resilient is the spring between a frame and what it carries.
type Resilient string

// The springs. The empty one draws nothing.
const (
	NoResilient   Resilient = ""
	ResilientBar  Resilient = "bar"
	ResilientClip Resilient = "clip"
)

// Fill is wool in a cavity, lying against the inward face.
type Fill struct {
	ThicknessMM float64 // above the cavity's depth it is drawn as full
	Missing     float64 // share of the area without wool, 0 to 1
	Loose       bool    // loose fill or pugging, drawn as grains
}

// DefectKind says how a defect is drawn.
type DefectKind string

// The defects. Other has no picture of its own: the edge is drawn open and the words stand beside the number.
const (
	OpenEdge    DefectKind = "open_edge"    // a perimeter that is not sealed
	Bridge      DefectKind = "bridge"       // a screw or rubble across a cavity
	MissingFill DefectKind = "missing_fill" // wool left out; the share is in Fill.Missing
	Other       DefectKind = "other"
)

// Defect is something a check found, with its words: "perimeter open 3 mm, 1.2 m at the north edge".
type Defect struct {
	Kind  DefectKind
	Words string
}

// Slab is one thickness of material or cavity, of the existing structure or of what is added.
type Slab struct {
	Number      int     // the layer's number; 0 for the existing structure, which gets letters
	Name        string  // as the job calls it
	ThicknessMM float64 // 0 or less draws the least visible thickness and says that it is unknown
	Hatch       Hatch
	State       State
	Share       float64 // part of the area that is installed, 0 to 1; read for PartInstalled only
	Frame       Frame
	Resilient   Resilient
	FrameInward bool // the spring sits at the inward face instead of the outward one
	Fill        *Fill
	Defects     []Defect

	// Within is the number, from 1, of the existing slab this layer is laid into (wool between joists): it adds no thickness.
	Within int
	// Removes is the number, from 1, of the existing slab this layer takes away: it adds no thickness.
	Removes int
}

// Section is one surface, ready to be drawn. The zero value draws an empty surface and says so.
type Section struct {
	Kind     Kind
	Code     string // C1
	Title    string // living ceiling
	Answer   string // the result in one sentence; it opens the picture's title
	Room     string // word on the far side; "room" unless given
	Existing []Slab // outward, towards the room
	Layers   []Slab // outward, in the order they go on
	Member   string // pipe_run, beam, boxing: the word for what is wrapped; it is not drawn to scale
	Key      bool   // list the layers with thickness and state beneath the drawing
}
