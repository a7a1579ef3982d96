package drawing

// Point is a place on the drawing: x to the right, y downward, in drawing units of 1/96 inch.
type Point struct{ X, Y float64 }

// Tone is what a shape is painted with. On paper every tone but None and Paper is black.
type Tone string

// The tones.
const (
	None  Tone = ""
	Ink   Tone = "ink"
	Paper Tone = "paper"
	Line  Tone = "line" // the quieter grey of hatches
	Stop  Tone = "stop"
	Wait  Tone = "wait"

	Accent Tone = "accent" // what is specified, in a chart
	Faint  Tone = "faint"  // a band behind a line
)

// Form is the geometry of a shape.
type Form string

// The forms.
const (
	Polygon Form = "polygon"
	Path    Form = "path" // an open run of straight lines
	Circle  Form = "circle"
	Words   Form = "words"
)

// Anchor says which end of the words stands at the point.
type Anchor string

// The anchors, as SVG names them.
const (
	Start  Anchor = "start"
	Middle Anchor = "middle"
	End    Anchor = "end"
)

// Role says what a shape stands for, so that tests (and whoever draws it elsewhere) can find it again.
type Role string

// The roles.
const (
	RoleSlab    Role = "slab"    // the outline of a slab or of a part of it
	RoleHatch   Role = "hatch"   // material, always inside its slab
	RoleMark    Role = "mark"    // state and defects
	RoleLabel   Role = "label"   // numbers, leaders
	RoleNote    Role = "note"    // words beneath
	RoleScale   Role = "scale"   // the scale bar
	RoleContext Role = "context" // room, member, break lines
)

// Shape is one thing to draw.
type Shape struct {
	Form   Form
	Role   Role
	Slab   string  // whose it is: "3" for layer 3, "a" for the first existing slab, empty for none
	Points []Point // a circle's or the words' first point is its centre or the start of its base line
	Fill   Tone
	Stroke Tone
	Width  float64   // of the stroke
	Dash   []float64 // nil is a solid line
	Radius float64   // of a circle
	Text   string
	Size   float64 // of the words
	Bold   bool
	Anchor Anchor
}
