package pages

import (
	"html/template"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/drawing"
)

// layerName is what a layer is, with a capital, its thickness kept on one line with its unit.
func layerName(l acoustics.Layer) string {
	return capital(strings.ReplaceAll(jobs.NameOf(l), " mm", "\u00a0mm"))
}

// stateWords is the state of a layer as people say it, with the share where only part is up.
func stateWords(l *jobs.Layer) string {
	w := drawing.State(l.State).Words()
	if l.Share > 0 && l.Share < 1-1e-9 {
		if l.State == jobs.PartInstalled {
			return shareOf(l.Share) + " in place"
		}
		w += ", " + shareOf(l.Share) + " in place"
	}
	return w
}

// layerMarks are the marks beside a layer's state.
var layerMarks = map[jobs.LayerState]drawing.Mark{
	jobs.Specified: drawing.MarkOpen, jobs.Delivered: drawing.MarkOpen, jobs.WithdrawnLayer: drawing.MarkOpen,
	jobs.CoveredUnseen: drawing.MarkCouldNotSee, jobs.ToPutRight: drawing.MarkFailed, jobs.DisputedLayer: drawing.MarkDisputed,
	jobs.Accepted: drawing.MarkPassed, jobs.CoveredLayer: drawing.MarkPassed, jobs.PutRightDone: drawing.MarkPassed,
	jobs.ReadyToBeSeen: drawing.MarkOpen, jobs.PartInstalled: drawing.MarkOpen,
}

var checkMarks = map[jobs.CheckState]drawing.Mark{
	jobs.CheckOpen: drawing.MarkOpen, jobs.CheckPassed: drawing.MarkPassed, jobs.CheckFailed: drawing.MarkFailed,
	jobs.CheckCouldNotSee: drawing.MarkCouldNotSee, jobs.CheckDisputed: drawing.MarkDisputed, jobs.CheckPutRight: drawing.MarkPassed,
	jobs.CheckNotApplicable: drawing.MarkPassed,
}

// mark draws a mark for a page, hidden from screen readers: its word always stands beside it.
func mark(m drawing.Mark) template.HTML {
	if m == "" {
		return ""
	}
	return template.HTML(m.SVG(18)) // drawn by us, without a word of anybody's in it
}
