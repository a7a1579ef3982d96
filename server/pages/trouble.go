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
	Stops   []stopLine
	Wrong   []trouble     // what is wrong on it and beneath it
	Missing []*jobs.Layer // layers that nobody recorded beneath the one that is to go on
	Open    []*jobs.Check // its own, open
	Behind  []*jobs.Check // of the whole surface, open, that it hides
}

func wayOf(j *jobs.Job, s *jobs.Surface, l *jobs.Layer) inTheWay {
	return settleWay(inTheWay{Wrong: troubles(j, s, l.N), Open: l.Open, Behind: hiddenBy(s, l)}, l)
}

// wayUnder is what is in the way of putting a layer on: layers beneath it that nobody recorded, and what keeps the one that it covers from
// being covered. That one is nil where there is nothing to cover any more, or only what was there before.
func wayUnder(j *jobs.Job, s *jobs.Surface, l *jobs.Layer) (w inTheWay, covers *jobs.Layer) {
	for _, b := range s.Layers[:l.N-1] {
		if b.Share > l.Share+1e-9 || b.Whole() {
			covers, w.Missing = b, nil
			continue
		}
		w.Missing = append(w.Missing, b)
	}
	switch {
	case covers == nil && hides(l):
		w.Behind = wholeOpen(s, "background", "services")
	case covers != nil && covers.Covered < covers.Share-1e-9:
		w.Wrong, w.Open, w.Behind = troubles(j, s, covers.N), covers.Open, hiddenBy(s, covers)
	default:
		covers = nil
	}
	if len(w.Missing) > 0 {
		w.Stops = []stopLine{{missingWords(w.Missing), layerPath(j, s, w.Missing[0].N, "install")}}
	}
	return settleWay(w, covers), covers
}

// missingWords says which layers are not in place beneath another, or not as far as it is.
func missingWords(missing []*jobs.Layer) string {
	if first := missing[0]; first.Share > 0 {
		return fmt.Sprintf("Layer %d beneath it is in place over %s only.", first.N, shareOf(first.Share))
	}
	return fmt.Sprintf("%s beneath it %s not recorded in place.", jobs.Capital(layersWords(missing)), are(len(missing)))
}

// settleWay puts what is in the way into sentences.
func settleWay(w inTheWay, l *jobs.Layer) inTheWay {
	for _, t := range w.Wrong {
		w.Stops = append(w.Stops, stopLine{t.Says, t.Do.To})
	}
	if len(w.Open) > 0 {
		w.Stops = append(w.Stops, stopLine{Says: openWords("check", openOf{w.Open, fmt.Sprintf(" of layer %d", l.N)}) + "."})
	}
	if len(w.Behind) > 0 {
		w.Stops = append(w.Stops, stopLine{Says: openWords("check", openOf{w.Behind, ofWhole}) + "."})
	}
	return w
}

// must tells whether somebody who goes on all the same has to say why.
func (w inTheWay) must() bool { return len(w.Stops) > 0 }

// allTheSame is what the button says of whoever goes on against what is in the way.
const allTheSame = " all the same"

// ask makes the form one with which somebody goes on against what is in the way: the button says so, and the note has to say why.
func (w inTheWay) ask(f *form, why string) {
	if !w.must() {
		return
	}
	f.Submit += allTheSame
	note := f.field("note")
	note.Hint, note.Needed = why, why
}

// said are the sentences for a layer that is to be covered. What passed on somebody's word alone is said where nothing else is, and needs no
// reason.
func (w inTheWay) said(j *jobs.Job, s *jobs.Surface, covers *jobs.Layer) []stopLine {
	if w.must() || covers == nil {
		return w.Stops
	}
	if kept, held := keptFrom(j, s, covers, w.Behind); held {
		return []stopLine{{kept.Says, kept.Do.To}}
	}
	return nil
}

// lines are the open checks as lines.
func (w inTheWay) lines(j *jobs.Job, s *jobs.Surface) []checkLine {
	return checkLines(j, s, slices.Concat(w.Open, w.Behind))
}
