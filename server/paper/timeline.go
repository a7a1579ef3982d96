package paper

import (
	"cmp"
	"io"
	"strconv"
)

// Timeline is the whole record of a job on paper, for a dispute: what was specified and done, what was agreed, changed and found,
// then every entry in order.
type Timeline struct {
	Head
	Says    string // how many entries, how many of them count
	Layers  []TimelineLayer
	Parts   []TimelinePart
	Entries []TimelineEntry
	Proof   []string // what the copy proves, and what it does not
}

// TimelineLayer is one layer, specified beside done.
type TimelineLayer struct {
	Surface                   string
	N                         int
	Specified, InPlace, State string
}

// TimelinePart is a list under a heading; None is said where there is nothing in it.
type TimelinePart struct {
	Title string
	Lines []string
	None  string
}

// TimelineEntry is one entry as people read it.
type TimelineEntry struct {
	N              int
	Done, Recorded string
	Who, Where     string
	Says           string
	More           []string // note, what became of it, photos
	Hash           string
}

// WriteTimeline prints the timeline.
func WriteTimeline(w io.Writer, t Timeline) error {
	t.Title = cmp.Or(t.Title, "Timeline of the record")
	d := newDocument(t.Head)
	if err := d.open(t.Says, "Entries are in the order in which they know of each other; a device's own clock decides only where nothing else does."); err != nil {
		return err
	}
	d.title("Specified and done")
	var rows [][]string
	for _, l := range t.Layers {
		rows = append(rows, []string{l.Surface, strconv.Itoa(l.N), l.Specified, l.InPlace, l.State})
	}
	if len(rows) == 0 {
		d.paragraph("", plainType, "No layer is specified.")
	} else {
		d.grid([]column{{title: "surface", wide: 16, bold: true}, {title: "layer", wide: 11}, {title: "specified", wide: 62}, {title: "in place", wide: 67}, {title: "state", wide: 30}}, rows, 6)
	}
	for _, p := range t.Parts {
		d.list(p.Title, p.Lines, p.None)
	}
	d.title("Every entry")
	rows = nil
	for _, e := range t.Entries {
		rows = append(rows, []string{strconv.Itoa(e.N), e.Done, e.Who, e.Where, join(" ", append([]string{e.Says}, e.More...)...) + " Recorded " + e.Recorded + ". Hash " + e.Hash + "."})
	}
	d.grid([]column{{title: "no.", wide: 10, right: true}, {title: "done", wide: 19}, {title: "who", wide: 34}, {title: "where", wide: 27}, {title: "what", wide: 96}}, rows, 6)
	d.list("What this copy proves", t.Proof, "")
	return d.finish(w)
}
