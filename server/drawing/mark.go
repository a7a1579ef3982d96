package drawing

// Mark is one of the small signs that stand beside a word. It never stands alone: the word says it, the mark makes it found.
type Mark string

// The marks.
const (
	MarkPassed      Mark = "passed"        // full square
	MarkOpen        Mark = "open"          // empty square
	MarkCouldNotSee Mark = "could_not_see" // square with a diagonal gap
	MarkFailed      Mark = "failed"        // square with one bar through
	MarkDisputed    Mark = "disputed"      // two half squares apart
	MarkStop        Mark = "stop"          // octagon outline
	MarkWaiting     Mark = "waiting"       // upward notch: waits to be sent
	MarkOnServer    Mark = "on_server"     // notch closed
	MarkHeld        Mark = "held"          // notch with a bar
)

// Marks lists them in the order a legend shows them.
func Marks() []Mark {
	return []Mark{MarkPassed, MarkOpen, MarkCouldNotSee, MarkFailed, MarkDisputed, MarkStop, MarkWaiting, MarkOnServer, MarkHeld}
}

// Words is the word that stands beside the mark.
func (m Mark) Words() string {
	switch m {
	case MarkPassed:
		return "passed"
	case MarkOpen:
		return "open"
	case MarkCouldNotSee:
		return "could not see"
	case MarkFailed:
		return "failed"
	case MarkDisputed:
		return "disputed"
	case MarkStop:
		return "stop"
	case MarkWaiting:
		return "waits to be sent"
	case MarkOnServer:
		return "on the server"
	case MarkHeld:
		return "held"
	}
	return ""
}

// mark is how a layer's state is marked in a note, and its tone; none where the state is in order.
func (s State) mark() (Mark, Tone) {
	switch s {
	case Ready:
		return MarkOpen, Ink
	case Accepted:
		return MarkPassed, Ink
	case CoveredUnseen:
		return MarkCouldNotSee, Wait
	case ToPutRight:
		return MarkFailed, Stop
	case Disputed:
		return MarkDisputed, Stop
	}
	return "", Ink
}

// Shapes draws the mark into a square whose upper left corner and side are given.
func (m Mark) Shapes(at Point, side float64) []Shape {
	k := side / 16
	points := func(xy ...float64) []Point {
		out := make([]Point, 0, len(xy)/2)
		for i := 0; i+1 < len(xy); i += 2 {
			out = append(out, Point{at.X + xy[i]*k, at.Y + xy[i+1]*k})
		}
		return out
	}
	const width = 1.5
	area := func(fill, stroke Tone, xy ...float64) Shape {
		return Shape{Form: Polygon, Role: RoleMark, Points: points(xy...), Fill: fill, Stroke: stroke, Width: width}
	}
	run := func(stroke Tone, xy ...float64) Shape {
		return Shape{Form: Path, Role: RoleMark, Points: points(xy...), Stroke: stroke, Width: width}
	}
	switch m {
	case MarkPassed:
		return []Shape{area(Ink, Ink, 3, 3, 13, 3, 13, 13, 3, 13)}
	case MarkOpen:
		return []Shape{area(None, Ink, 3, 3, 13, 3, 13, 13, 3, 13)}
	case MarkCouldNotSee:
		return []Shape{run(Wait, 8, 3, 3, 3, 3, 13, 4.5, 13), run(Wait, 11.5, 3, 13, 3, 13, 13, 8, 13)}
	case MarkFailed:
		return []Shape{area(None, Stop, 3, 3, 13, 3, 13, 13, 3, 13), run(Stop, 0.5, 15.5, 15.5, 0.5)}
	case MarkDisputed:
		return []Shape{run(Stop, 6, 3, 1.5, 3, 1.5, 13, 6, 13), run(Stop, 10, 3, 14.5, 3, 14.5, 13, 10, 13)}
	case MarkStop:
		return []Shape{area(None, Stop, 5, 1, 11, 1, 15, 5, 15, 11, 11, 15, 5, 15, 1, 11, 1, 5)}
	case MarkWaiting:
		return []Shape{run(Ink, 1.5, 12, 5, 12, 8, 5, 11, 12, 14.5, 12)}
	case MarkOnServer:
		return []Shape{area(Ink, Ink, 5, 12, 8, 5, 11, 12), run(Ink, 1.5, 12, 14.5, 12)}
	case MarkHeld:
		return []Shape{run(Wait, 1.5, 13, 5, 13, 8, 6, 11, 13, 14.5, 13), run(Wait, 3, 2.5, 13, 2.5)}
	}
	return nil
}

// SVG is the mark as a picture of the given side, hidden from screen readers: its word stands beside it.
func (m Mark) SVG(side int) []byte {
	return picture{width: float64(side), height: float64(side), shapes: m.Shapes(Point{}, float64(side)), hidden: true}.svg()
}
