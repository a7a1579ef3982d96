package pages

import (
	"html/template"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/drawing"
)

// layerName is what a layer is where it stands in no surface yet.
func layerName(l acoustics.Layer) string { return jobs.Capital(jobs.NameOf(l)) }

// stateWords is the state of a layer as people say it, with the share where only part is up.
func stateWords(l *jobs.Layer) string {
	w := drawing.State(l.Standing()).Words()
	if l.Share > 0 && !l.Whole() {
		if l.State == jobs.PartInstalled {
			return shareOf(l.Share) + " in place"
		}
		w += ", " + shareOf(l.Share) + " in place"
	}
	return w
}

// layerMarks are the marks beside a layer's state.
var layerMarks = map[jobs.LayerState]drawing.Mark{
	jobs.Specified: drawing.MarkOpen, jobs.Delivered: drawing.MarkOpen,
	jobs.CoveredUnseen: drawing.MarkCouldNotSee, jobs.ToPutRight: drawing.MarkFailed, jobs.DisputedLayer: drawing.MarkDisputed,
	jobs.Accepted: drawing.MarkPassed, jobs.CoveredLayer: drawing.MarkPassed, jobs.PutRightDone: drawing.MarkPassed,
	jobs.ReadyToBeSeen: drawing.MarkOpen, jobs.PartInstalled: drawing.MarkOpen, jobs.Installed: drawing.MarkOpen, jobs.WithdrawnLayer: drawing.MarkOpen,
}

var checkMarks = map[jobs.CheckState]drawing.Mark{
	jobs.CheckOpen: drawing.MarkOpen, jobs.CheckPassed: drawing.MarkPassed, jobs.CheckFailed: drawing.MarkFailed,
	jobs.CheckCouldNotSee: drawing.MarkCouldNotSee, jobs.CheckDisputed: drawing.MarkDisputed, jobs.CheckPutRight: drawing.MarkPassed,
	jobs.CheckNotApplicable: drawing.MarkPassed,
}

// mark draws a mark for a page, hidden from screen readers: its word always stands beside it. The mark itself stands once at
// the end of the page.
func mark(m drawing.Mark) template.HTML {
	if m == "" {
		return ""
	}
	// One of the drawing package's own names, without a word of anybody's in it.
	return template.HTML(`<svg class="drawing" width="18" height="18" aria-hidden="true" focusable="false"><use href="#mark-` + string(m) + `"/></svg>`)
}

// markSymbols are all marks, to be drawn from.
var markSymbols = func() template.HTML {
	var b strings.Builder
	b.WriteString(`<svg class="symbols" width="0" height="0" aria-hidden="true" focusable="false">`)
	for _, m := range drawing.Marks() {
		svg := string(m.SVG(18))
		b.WriteString(`<symbol id="mark-` + string(m) + `" viewBox="0 0 18 18">` + svg[strings.Index(svg, ">")+1:strings.LastIndex(svg, "</svg>")] + `</symbol>`)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}()
