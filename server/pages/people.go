package pages

import (
	"html/template"
	"slices"
	"strconv"
	"time"

	"tacet/jobs"
	"tacet/server/drawing"
	"tacet/sync/replica"
)

// name is a person's name, or the beginning of the id where the name is not known.
func (v *visit) name(person string) string {
	if v.deps.Name != nil {
		if n := v.deps.Name(v.ctx, v.who.Company, person); n != "" {
			return n
		}
	}
	if person == v.who.Person && v.who.Name != "" {
		return v.who.Name
	}
	if len(person) > 8 {
		return "person " + person[:8]
	}
	return "person " + person
}

// recordLine is a record with who, when, and what it is worth.
type recordLine struct {
	Mark     template.HTML
	Place    string // what it is about, where the page does not say it
	Says     string
	By, At   string
	Evidence string
	Sent     string // where it stands, if it is not at the server yet
	Note     string
	Parts    []string // what the line can't say, where it is disputed
	Gone     bool     // no longer in force
	Withdraw string   // address of the page on which it is withdrawn; empty where that is not the visitor's to do
	Photos   []photoLine
}

// photoLine is a photo; of one that was erased the words that stand in its place.
type photoLine struct {
	Href, Alt string // the picture itself
	Page      string // where it is shown with what it is of
	Erased    string
	Erase     string // address of the page on which it is erased; empty where that is not the visitor's to do
}

func (v *visit) photoLine(j *jobs.Job, r *jobs.Record, i int) photoLine {
	h := r.Blobs[i]
	p := photoLine{Href: jobPath(j) + "/photos/" + h.String(), Alt: photoAlt(r, i), Erased: v.photoErased(j, h)}
	p.Page = p.Href + "/of/" + r.ID
	if p.Erased == "" && slices.Contains(desk, v.who.Role) && v.who.Guest == "" {
		p.Erase = p.Href + "/erase"
	}
	return p
}

// photoErased says when and why a photo was erased; empty where it was not.
func (v *visit) photoErased(j *jobs.Job, h jobs.Hash) string {
	return photoErased(j, h, v.when)
}

func photoErased(j *jobs.Job, h jobs.Hash, when func(time.Time) string) string {
	r, why := j.PhotoErased(h)
	if r == nil {
		return ""
	}
	return "Photo erased on " + when(r.DoneAt()) + ": " + why + "."
}

// evidenceWords say how strong the evidence of a check counts, 0 to 5.
var evidenceWords = []string{"no evidence", "said so", "photo", "photo and measured", "seen in person", "opened up or tested"}

// line is one record; states tells where each entry stands, nil where that is not asked.
func (v *visit) recordLine(j *jobs.Job, r *jobs.Record, states map[string]replica.State) recordLine {
	l := recordLine{Says: jobs.Capital(j.Says(r)), By: v.name(r.By), At: v.clock(r.DoneAt()), Gone: !j.InForce(r)}
	c := r.Common()
	if c.By != "" {
		l.By = c.By + ", recorded by " + l.By
	}
	if c.FromPaper {
		l.At += ", from paper"
	}
	if d, ok := r.What.(*jobs.CheckResult); ok {
		l.Mark = mark(verdictMarks[d.Result])
		l.Evidence = "evidence: " + evidenceWords[min(j.Evidence(r), len(evidenceWords)-1)]
	}
	if _, isNote := r.What.(*jobs.Note); !isNote {
		l.Note = c.Note
	}
	if slices.Contains(withdrawable, r.Kind) && !l.Gone && r.On.Surface != "" && (r.By == v.who.Person || v.who.Role.Judges()) {
		l.Withdraw = jobPath(j) + "/withdraw/" + r.ID
	}
	switch states[r.ID] {
	case replica.Unsent, replica.Sent:
		l.Sent = "waits to be sent"
	case replica.ToConfirm:
		l.Sent = "is being sent again"
	}
	for i := range r.Blobs {
		l.Photos = append(l.Photos, v.photoLine(j, r, i))
	}
	return l
}

// withdrawable are the kinds of records that are taken back one by one. A description or a list is replaced instead.
var withdrawable = []string{"audit", "check", "cover", "deliver", "install", "note", "photo", "ready", "release", "substitute"}

func photoAlt(r *jobs.Record, i int) string {
	alt := "Photo " + strconv.Itoa(i+1)
	if r.On.Check != "" {
		alt += " for " + r.On.Check
	}
	if r.On.Layer > 0 {
		alt += " of layer " + strconv.Itoa(r.On.Layer)
	}
	return alt
}

var verdictMarks = map[jobs.Verdict]drawing.Mark{
	jobs.Pass: drawing.MarkPassed, jobs.Fail: drawing.MarkFailed, jobs.NotApplicable: drawing.MarkPassed, jobs.CouldNotSee: drawing.MarkCouldNotSee,
}

// placedLines are records, newest first, each with the place that it is about.
func (v *visit) placedLines(j *jobs.Job, rs []*jobs.Record, states map[string]replica.State) []recordLine {
	lines := v.recordLines(j, rs, states)
	for i := range lines {
		r := rs[len(rs)-1-i]
		for _, h := range r.Refers(jobs.Over) {
			if named := j.ByHash(h); named != nil && r.On.Surface == "" {
				r = named
			}
		}
		if r.On.Surface != "" {
			lines[i].Place = r.On.Surface
		}
		lines[i].Withdraw = "" // that is done where the record belongs
		if r.On.Layer > 0 {
			lines[i].Place += ", layer " + strconv.Itoa(r.On.Layer)
		}
	}
	return lines
}

// recordLines are records, newest first.
func (v *visit) recordLines(j *jobs.Job, rs []*jobs.Record, states map[string]replica.State) []recordLine {
	lines := make([]recordLine, 0, len(rs))
	for _, r := range slices.Backward(rs) {
		lines = append(lines, v.recordLine(j, r, states))
	}
	return lines
}

// joined tells whether this device sends what it records: a server has nobody to send to, and neither has a home that joined
// no company.
func (v *visit) joined() bool {
	return v.deps.Program == Client && v.deps.Link != nil && v.deps.Link(v.ctx).State != LinkAlone
}

// states tells where the entries of a job stand, nil where nothing is ever sent.
func (v *visit) states(j *jobs.Job) map[string]replica.State {
	if !v.joined() {
		return nil
	}
	states, err := v.deps.Record.States(v.ctx, v.who.Company, j.ID)
	if err != nil {
		return nil // a page without this remark is better than none
	}
	return states
}
