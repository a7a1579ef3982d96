package archive

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"fmt"
	"html/template"
	"strconv"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

//go:embed timeline.html
var pageText string

var pageTemplate = template.Must(template.New("timeline").Parse(pageText))

// timeline turns the record into a page and a table for people.
type timeline struct {
	content Content
	job     *jobs.Job // of the entries that count
	whole   *jobs.Job // of all
	states  map[jobs.Hash]replica.State
	here    map[jobs.Hash]bool // photos that are in the archive
}

// Line is one entry as people read it.
type Line struct {
	N                              int
	ID, Hash, Device               string
	Seq                            int64
	Done, Recorded                 string
	Who, Role, Where, Kind         string
	Says, Note, Mark, About, State string
	FromPaper, Off                 bool
	done, recorded                 time.Time
	Photos                         []PhotoLine
}

// PhotoLine is one photo of an entry.
type PhotoLine struct {
	File string
	Here bool
	Gone string // when and why it was erased, where it was
	Of   string // what it is a photo of, for those who don't see it
}

// Times and days as people read them, on pages and on paper alike; all are UTC. The table for a spreadsheet has times that can be sorted.
const (
	momentForm = "2 Jan 2006, 15:04"
	dayForm    = "2 Jan 2006"
	sortable   = "2006-01-02 15:04:05"
)

func moment(t time.Time) string { return t.UTC().Format(momentForm) }

// day is a day of the record; what is none stands as it was written.
func day(s string) string {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return s
	}
	return t.Format(dayForm)
}

// timeline folds the entries twice: those that count, and all.
func (c Content) timeline() timeline {
	all := make([]jobs.Entry, len(c.Entries))
	states := map[jobs.Hash]replica.State{}
	var counting []jobs.Entry
	for i, s := range c.Entries {
		all[i], states[s.Hash] = s.Entry, s.State
		if s.State != replica.Held && s.State != replica.Refused {
			counting = append(counting, s.Entry)
		}
	}
	return timeline{content: c, job: jobs.Fold(c.Job, c.Company, counting), whole: jobs.Fold(c.Job, c.Company, all), states: states}
}

// lines lists every entry in fold order.
func (t timeline) lines() []Line {
	number := map[jobs.Hash]int{}
	for i, r := range t.whole.Records {
		number[r.Hash] = i + 1
	}
	var out []Line
	for i, r := range t.whole.Records {
		c := r.Common()
		l := Line{N: i + 1, ID: r.ID, Hash: r.Hash.String(), Device: r.Dev, Seq: r.Seq, done: r.DoneAt().UTC(), recorded: r.Clk.Time().UTC(), Done: moment(r.DoneAt()), Recorded: moment(r.Clk.Time()),
			Who: t.who(r), Role: string(r.Role), Where: where(r.On), Kind: strings.ReplaceAll(r.Kind, "_", " "), Says: t.whole.Says(r), Note: c.Note, FromPaper: c.FromPaper, State: string(t.states[r.Hash])}
		if r.Data == nil {
			l.Says = "the text is held back, or was erased; its hash stays"
		}
		switch counted := t.job.ByHash(r.Hash); {
		case counted == nil:
			l.Mark, l.Off = map[replica.State]string{replica.Held: "held: waits for the supervisor", replica.Refused: "refused by the supervisor"}[t.states[r.Hash]], true
		case !t.job.InForce(counted):
			l.Mark, l.Off = "replaced or withdrawn later", true
		default:
			if c := t.job.CuredBy(counted); c != nil {
				l.Mark = "put right later, no. " + strconv.Itoa(number[c.Hash])
			}
		}
		for _, ref := range r.Refs {
			if ref.As == jobs.Over || ref.As == jobs.Base {
				if n := number[ref.H]; n > 0 {
					l.About = joined(l.About, "no. "+strconv.Itoa(n))
				}
			}
		}
		for _, h := range r.Blobs {
			p := PhotoLine{File: photoName(h), Here: t.here[h], Of: "photo of entry " + strconv.Itoa(i+1)}
			if e, why := t.job.PhotoErased(h); e != nil {
				p.Gone = "Photo erased on " + moment(e.DoneAt()) + ": " + why
			}
			l.Photos = append(l.Photos, p)
		}
		out = append(out, l)
	}
	return out
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	if strings.Contains(a+",", b+",") {
		return a
	}
	return a + ", " + b
}

// who is the person an entry is by: the name, and the id that the chain holds.
func (t timeline) who(r *jobs.Record) string {
	name := t.content.Names[r.By]
	if name == "" {
		name = r.By
	}
	if by := r.Common().By; by != "" && by != r.By {
		return by + " (recorded by " + name + ")"
	}
	return name
}

func where(on jobs.On) string {
	var parts []string
	for _, p := range []string{on.Surface, on.Room, on.Structure} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	if on.Layer > 0 {
		parts = append(parts, "layer "+strconv.Itoa(on.Layer))
	}
	if on.Check != "" {
		parts = append(parts, on.Check)
	}
	return strings.Join(parts, ", ")
}

// LayerLine is one layer, specified beside done.
type LayerLine struct {
	Surface                   string
	N                         int
	Specified, InPlace, State string
}

// Part is a list under a heading; None is said where there is nothing in it.
type Part struct {
	Title string
	Lines []string
	None  string
}

// Timeline is the record in the order in which it came about, for a page, a table or paper. All times are UTC.
type Timeline struct {
	Name, Site, Count, Made string
	Layers                  []LayerLine
	Parts                   []Part
	Rows                    []Line
}

// Timeline reads the content as people do. Which photos have arrived is not looked up.
func (c Content) Timeline() Timeline { return c.timeline().read() }

func (t timeline) read() Timeline {
	rows := t.lines()
	return Timeline{t.job.Name, t.job.Site, fmt.Sprintf("%d entries, %d of them count", len(rows), len(t.job.Records)), moment(t.content.Made), t.layers(), t.parts(), rows}
}

func (t timeline) page() ([]byte, error) {
	var b bytes.Buffer
	if err := pageTemplate.Execute(&b, t.read()); err != nil {
		return nil, fmt.Errorf("write timeline: %w", err)
	}
	return b.Bytes(), nil
}

func (t timeline) layers() []LayerLine {
	var out []LayerLine
	for _, s := range t.job.Surfaces {
		for _, l := range s.Layers {
			row := LayerLine{Surface: s.Code, N: l.N, Specified: fmt.Sprintf("%s, %.1f kg/m²", l.SpecifiedName(), l.SpecifiedMass()), InPlace: "nothing yet", State: strings.ReplaceAll(string(l.Standing()), "_", " ")}
			if l.Share > 0 {
				row.InPlace = fmt.Sprintf("%s, %.1f kg/m², %.0f %% of the area", l.Name(), l.InstalledMass, l.Share*100)
			}
			if l.CoveredUnseen && !strings.Contains(row.State, "unseen") {
				row.State += ", covered unseen"
			}
			out = append(out, row)
		}
	}
	return out
}

// parts are the questions that a dispute asks: what was agreed, what was changed, what was found, what nobody saw.
func (t timeline) parts() []Part {
	j := t.job
	agreed := Part{Title: "Agreed", None: "No word of a client or of another decider is on record."}
	changed := Part{Title: "Changed", None: "Nothing was specified anew, substituted or withdrawn."}
	for _, r := range j.Records {
		text := moment(r.DoneAt()) + ", " + t.who(r) + ": " + j.Says(r)
		if w := where(r.On); w != "" {
			text = w + ": " + text
		}
		switch r.What.(type) {
		case *jobs.Sign, *jobs.Caution, *jobs.Quote, *jobs.SignOff:
			agreed.Lines = append(agreed.Lines, text)
		case *jobs.Respecify, *jobs.Substitute, *jobs.Withdraw, *jobs.Ruling:
			changed.Lines = append(changed.Lines, text)
		}
	}
	found := Part{Title: "Found wrong", None: "Nothing was recorded as wrong."}
	for _, n := range j.NonConformances() {
		found.Lines = append(found.Lines, fmt.Sprintf("%s: %s. %s. Grade: %s. State: %s.", where(n.On), n.Title, strings.TrimSuffix(n.Saw, "."),
			strings.ReplaceAll(string(n.Grade), "_", " "), strings.ReplaceAll(string(n.State), "_", " ")))
	}
	disputes := Part{Title: "Disputed", None: "No records contradict each other, and nothing had to be ruled on."}
	for _, d := range j.Disputes {
		var sides []string
		for _, h := range d.Heads {
			sides = append(sides, t.who(h)+": "+j.Says(h))
		}
		disputes.Lines = append(disputes.Lines, strings.TrimPrefix(where(d.On)+": ", ": ")+d.About+". "+strings.Join(sides, "; ")+".")
	}
	for _, r := range j.Of("ruling") {
		disputes.Lines = append(disputes.Lines, "Ruled on, "+moment(r.DoneAt())+", "+t.who(r)+": "+j.Says(r)+".")
	}
	measured := Part{Title: "Measured", None: "No sound test is on record."}
	for _, v := range j.TestVerdicts() {
		text := moment(v.Record.DoneAt()) + ": " + j.Says(v.Record) + ", " + v.Test.SourceRoom + " to " + v.Test.ReceivingRoom
		if v.Passes != nil {
			text += fmt.Sprintf(", limit %g dB: %s", v.Limit.ValueDB, map[bool]string{true: "passes", false: "fails"}[*v.Passes])
		}
		measured.Lines = append(measured.Lines, text)
	}
	complaints := Part{Title: "Complaints", None: "No complaint is on record."}
	for _, c := range j.Complaints() {
		complaints.Lines = append(complaints.Lines, day(c.Complaint.Received)+": “"+c.Complaint.Words+"”. "+c.Says()+".")
	}
	notSeen := Part{Title: "Not seen", Lines: jobs.NotSeenBySurface(j.NotSeen("", 0)), None: "Every layer was seen before it was covered, and every stop check was answered."}
	return []Part{agreed, changed, found, disputes, notSeen, measured, complaints}
}

// table is the timeline for a spreadsheet.
func (t timeline) table() ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"no", "done_utc", "recorded_utc", "who", "role", "where", "kind", "says", "note", "state", "mark", "about", "from_paper", "photos", "entry", "device", "place", "hash"}}
	for _, l := range t.lines() {
		var photos []string
		for _, p := range l.Photos {
			photos = append(photos, p.File)
		}
		rows = append(rows, []string{strconv.Itoa(l.N), l.done.Format(sortable), l.recorded.Format(sortable), l.Who, l.Role, l.Where, l.Kind, l.Says, l.Note, l.State, l.Mark, l.About, strconv.FormatBool(l.FromPaper),
			strings.Join(photos, " "), l.ID, l.Device, strconv.FormatInt(l.Seq, 10), l.Hash})
	}
	for _, row := range rows {
		for i, c := range row {
			row[i] = jobs.Cell(c)
		}
		if err := w.Write(row); err != nil {
			return nil, fmt.Errorf("write timeline: %w", err)
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}
