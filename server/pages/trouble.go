package pages

import (
	"fmt"
	"slices"
	"strings"

	"tacet/jobs"
)

// trouble is something wrong on a surface: it is said before anything else, on the surface's page and wherever somebody is about to
// cover a layer.
type trouble struct {
	Says  string // a sentence
	Mark  string // of drawing.Mark
	Layer int    // 0 for the whole surface
	Check string // the check it is about, if it is about one
	Do    step
}

// troubles lists what is wrong on the whole surface and on its layers up to one: first records that do not agree, then what is to be put
// right, then layers that stand over others which nobody recorded.
func troubles(j *jobs.Job, s *jobs.Surface, upto int) []trouble {
	var ts []trouble
	for _, d := range j.Disputes {
		if strings.EqualFold(d.On.Surface, s.Code) && d.On.Layer <= upto {
			if t, ok := ownDispute(j, s, d); ok {
				ts = append(ts, t)
				continue
			}
			ts = append(ts, trouble{Says: "Two records do not agree about " + disputeOn(d) + ". Both are kept.", Mark: "disputed", Layer: d.On.Layer, Check: d.On.Check,
				Do: step{"Compare both records", jobPath(j) + "/disputes"}})
		}
	}
	for _, l := range s.Layers {
		if l.N <= upto && l.State == jobs.ToPutRight {
			t := trouble{Says: fmt.Sprintf("Put layer %d right first.", l.N), Mark: "failed", Layer: l.N}
			if f := faultsOn(j, s, l.N); len(f) > 0 {
				t.Says = fmt.Sprintf("Put layer %d right first: %s.", l.N, f[0].Words)
				t.Check = f[0].Record.On.Check
				t.Do = step{"Record that it is put right", surfacePath(j, s) + "/right/" + f[0].Record.ID}
			}
			ts = append(ts, t)
		}
	}
	if t, ok := outOfOrder(j, s, upto); ok {
		ts = append(ts, t)
	}
	return ts
}

// ownDispute is what one person recorded of a check first as failed and then as passed: mostly it was put right in between, and nobody
// said so.
func ownDispute(j *jobs.Job, s *jobs.Surface, d jobs.Dispute) (trouble, bool) {
	var fail *jobs.Record
	passed := false
	for _, r := range d.Heads {
		c, ok := r.What.(*jobs.CheckResult)
		switch {
		case !ok || r.By != d.Heads[0].By || c.Result != jobs.Pass && (c.Result != jobs.Fail || fail != nil):
			return trouble{}, false
		case c.Result == jobs.Fail:
			fail = r
		default:
			passed = true
		}
	}
	if fail == nil || !passed {
		return trouble{}, false
	}
	return trouble{Says: "One person recorded " + disputeOn(d) + ", as failed and as passed. Was it put right?", Mark: "disputed", Layer: d.On.Layer, Check: d.On.Check,
		Do: step{"Record that it is put right", surfacePath(j, s) + "/right/" + fail.ID}}, true
}

// outOfOrder says that a layer is in place over more than what is recorded beneath it.
func outOfOrder(j *jobs.Job, s *jobs.Surface, upto int) (trouble, bool) {
	for _, top := range slices.Backward(s.Layers[:min(upto, len(s.Layers))]) {
		var lacking []*jobs.Layer
		for _, l := range s.Layers[:top.N-1] {
			if l.Share < top.Share-1e-9 {
				lacking = append(lacking, l)
			}
		}
		if len(lacking) == 0 {
			continue
		}
		first := lacking[0]
		t := trouble{Mark: "failed", Layer: first.N, Do: layerStep(j, s, fmt.Sprintf("Record layer %d in place", first.N), first.N, "install"),
			Says: fmt.Sprintf("Layer %d is in place over %s, which %s not recorded.", top.N, layersWords(lacking), are(len(lacking)))}
		if first.Share > 0 {
			t.Says = fmt.Sprintf("Layer %d is in place over %s, layer %d beneath it over %s only.", top.N, shareOf(top.Share), first.N, shareOf(first.Share))
			t.Do.Text = fmt.Sprintf("Record more of layer %d", first.N)
		}
		return t, true
	}
	return trouble{}, false
}

func are(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// layersWords names layers by their numbers, those in a row as a range.
func layersWords(ls []*jobs.Layer) string {
	first, last := ls[0].N, ls[len(ls)-1].N
	switch {
	case len(ls) == 1:
		return fmt.Sprintf("layer %d", first)
	case last-first == len(ls)-1 && len(ls) > 2:
		return fmt.Sprintf("layers %d to %d", first, last)
	}
	numbers := make([]string, len(ls)-1)
	for i, l := range ls[:len(ls)-1] {
		numbers[i] = fmt.Sprint(l.N)
	}
	return fmt.Sprintf("layers %s and %d", strings.Join(numbers, ", "), last)
}

// stopLine is a sentence on the page of a record that says what stands in its way, and where that is settled.
type stopLine struct{ Says, To string }

func stopLines(says ...string) []stopLine {
	lines := make([]stopLine, len(says))
	for i, s := range says {
		lines[i].Says = s
	}
	return lines
}

// inTheWay is what keeps a layer from being covered, on the page on which that is done or allowed all the same.
type inTheWay struct {
	Stops  []stopLine
	Open   []*jobs.Check // its own, open
	Behind []*jobs.Check // of the whole surface, open, that it hides
}

func wayOf(j *jobs.Job, s *jobs.Surface, l *jobs.Layer) inTheWay {
	w := inTheWay{Open: l.Open, Behind: hiddenBy(s, l)}
	for _, t := range troubles(j, s, l.N) {
		w.Stops = append(w.Stops, stopLine{t.Says, t.Do.To})
	}
	if len(w.Open) > 0 {
		w.Stops = append(w.Stops, stopLine{Says: openWords(w.Open, "check", fmt.Sprintf(" of layer %d", l.N)) + "."})
	}
	if len(w.Behind) > 0 {
		w.Stops = append(w.Stops, stopLine{Says: openWords(w.Behind, "check", ofWhole) + "."})
	}
	return w
}

// must tells whether somebody who goes on all the same has to say why.
func (w inTheWay) must() bool { return len(w.Stops) > 0 }

// lines are the open checks as lines.
func (w inTheWay) lines(j *jobs.Job, s *jobs.Surface) []checkLine {
	return checkLines(j, s, slices.Concat(w.Open, w.Behind))
}
