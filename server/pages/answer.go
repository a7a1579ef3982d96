package pages

import (
	"fmt"
	"slices"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
)

// answer is what a surface says first: may the next layer go on, and if not, why not. What keeps a layer from being covered
// is decided by the job; here it is put into words.
type answer struct {
	Says     string        // the sentence
	Also     string        // a second, smaller one
	Open     []*jobs.Check // the open checks that the sentence counts
	Rest     []*jobs.Check // the other open stop checks
	RestSays string        // the sentence that counts these
	Mark     string        // of drawing.Mark, "" for none
	Layer    int           // the layer it speaks of, 0 for the whole surface
	Do       step          // what to do next
	Or       step          // what else, plainly lesser
	Trouble  *trouble      // what is wrong, where the sentence says that
}

// step is an action: its words and where it is done.
type step struct{ Text, To string }

func layerStep(j *jobs.Job, s *jobs.Surface, text string, n int, to string) step {
	return step{text, layerPath(j, s, n, to)}
}

func answerOf(j *jobs.Job, s *jobs.Surface) answer {
	a := layersAnswer(j, s)
	if len(s.Layers) > 0 {
		a.rest(s)
	}
	// It stays a fact whatever else is said, so it stands beside the answer.
	if n := unseenLayers(s); n > 0 && !strings.Contains(a.Says, "unseen") {
		a.Also = strings.TrimSpace(jobs.Count(n, "layer") + " covered unseen. " + a.Also)
	}
	return a
}

func layersAnswer(j *jobs.Job, s *jobs.Surface) answer {
	if len(s.Layers) == 0 {
		return answer{Says: "Nothing is specified yet.", Mark: "open"}
	}
	if ts := troubles(j, s, len(s.Layers)); len(ts) > 0 {
		return answer{Says: ts[0].Says, Mark: ts[0].Mark, Layer: ts[0].Layer, Do: ts[0].Do, Trouble: &ts[0]}
	}
	next := nextLayer(s)
	if next == nil {
		return finished(j, s)
	}
	if below := s.Layer(next.N - 1); below != nil && below.Covered < below.Share {
		if a, held := keptFrom(j, s, below, hiddenBy(s, below)); held {
			return a
		}
	}
	if open := wholeOpen(s, "background", "services"); next.N == 1 && len(open) > 0 && hides(next) {
		return answer{Says: "Layer 1 hides what is behind it: " + openWords("check", openOf{open, ofWhole}) + ".", Open: open, Mark: "stop", Layer: 1,
			Do: recordStep(j, s, open[0])}
	}
	a := answer{Layer: next.N}
	switch {
	case next.Share > 0:
		a.Says = fmt.Sprintf("Layer %d is in place over %s. The rest may go on.", next.N, shareOf(next.Share))
		a.Do = layerStep(j, s, fmt.Sprintf("Record more of layer %d", next.N), next.N, "install")
	default:
		a.Says = fmt.Sprintf("Layer %d %s.", next.N, mayGo(next))
		a.Do = layerStep(j, s, fmt.Sprintf("Record layer %d in place", next.N), next.N, "install")
	}
	if w, ok := s.ScrewWindow(next); ok {
		a.Says += " " + screwSentence(w)
	}
	if below := s.Layer(next.N - 1); below != nil && below.State == jobs.Installed && below.Covered == 0 {
		a.Or = layerStep(j, s, fmt.Sprintf("Layer %d is ready to be seen", below.N), below.N, "ready")
	}
	return a
}

// rest lists the open stop checks that the sentence does not count: where it says what is wrong, those of the layer that this is about and
// of layers that can still be seen, and always those of the whole surface.
func (a *answer) rest(s *jobs.Surface) {
	var on []*jobs.Layer
	var own, whole []*jobs.Check
	if a.Trouble != nil {
		for _, l := range s.Layers {
			if l.Share == 0 || l.N != a.Layer && l.Covered >= l.Share-1e-9 {
				continue
			}
			open := slices.DeleteFunc(slices.Clone(l.Open), func(c *jobs.Check) bool { return l.N == a.Layer && c.Rule.Code == a.Trouble.Check })
			if len(open) > 0 {
				on, own = append(on, l), append(own, open...)
			}
		}
	}
	for _, c := range wholeOpen(s) {
		if !slices.Contains(a.Open, c) {
			whole = append(whole, c)
		}
	}
	if a.Rest = slices.Concat(own, whole); len(a.Rest) == 0 {
		return
	}
	what := "stop check"
	if len(a.Open) > 0 && a.Open[0].Layer == 0 {
		what = "more " + what
	}
	groups := []openOf{{whole, ofWhole}}
	if len(own) > 0 {
		groups = slices.Insert(groups, 0, openOf{own, " of " + layersWords(on)})
	}
	a.RestSays = openWords(what, groups...) + "."
}

func mayGo(l *jobs.Layer) string {
	switch l.Now.Element.(type) {
	case jobs.FillExisting:
		return "may go in"
	case jobs.RemoveExisting:
		return "may come off"
	}
	return "may go on"
}

// holdAnswer is the answer while stop checks keep a layer from being covered.
func holdAnswer(j *jobs.Job, s *jobs.Surface, l *jobs.Layer) answer {
	a := answer{Says: holdWords(s, l, "") + openWords("check", openOf{Checks: l.Open}) + ".", Open: l.Open, Mark: "stop", Layer: l.N, Do: recordStep(j, s, l.Open[0])}
	switch l.State {
	case jobs.Installed:
		a.Or = layerStep(j, s, fmt.Sprintf("Layer %d is ready to be seen", l.N), l.N, "ready")
	case jobs.ReadyToBeSeen:
		a.Also = "It is ready to be seen."
	}
	return a
}

// holdWords begins what keeps a layer from being covered. No other layer goes over the last one, only what finishes it.
func holdWords(s *jobs.Surface, l *jobs.Layer, yet string) string {
	if l.N == len(s.Layers) {
		return fmt.Sprintf("No skim, paint or floor finish on layer %d yet: ", l.N)
	}
	return fmt.Sprintf("Do not cover layer %d%s: ", l.N, yet)
}

// hiddenFirst are the stages whose checks of the whole surface nothing may hide.
var hiddenFirst = []string{"background", "services", "fire"}

// wholeOpen lists the open stop checks of the whole surface, of some stages or, for none, of all.
func wholeOpen(s *jobs.Surface, stages ...string) []*jobs.Check {
	var open []*jobs.Check
	for _, c := range s.ChecksOf(0) {
		if c.Rule.Stop && holds(c) && (len(stages) == 0 || slices.Contains(stages, c.Rule.Stage)) {
			open = append(open, c)
		}
	}
	return open
}

// hiddenBy lists the open stop checks of the whole surface that covering a layer hides: behind the last one, all. What is about
// boards is not hidden before one is on.
func hiddenBy(s *jobs.Surface, l *jobs.Layer) []*jobs.Check {
	if l.N == len(s.Layers) {
		return wholeOpen(s)
	}
	boards := slices.ContainsFunc(s.Layers[:l.N], func(l *jobs.Layer) bool { return l.Now.Role() == acoustics.RoleMass })
	return slices.DeleteFunc(wholeOpen(s, hiddenFirst...), func(c *jobs.Check) bool { return c.Rule.OfBoards && !boards })
}

// hides tells whether a layer hides what is behind it: all but a bare frame, and but what is taken away.
func hides(l *jobs.Layer) bool {
	switch e := l.Now.Element.(type) {
	case jobs.RemoveExisting:
		return false
	case acoustics.Cavity:
		return e.Fill != nil
	}
	return true
}

// keptFrom is the answer while something keeps a layer from being covered: its own stop checks first, then those of the
// whole surface, then those that passed on somebody's word alone.
func keptFrom(j *jobs.Job, s *jobs.Surface, l *jobs.Layer, whole []*jobs.Check) (answer, bool) {
	switch {
	case len(l.Open) > 0:
		return holdAnswer(j, s, l), true
	case len(whole) > 0:
		// Also of an accepted layer: a yes to the layer on the pages releases these by name; where it did not, nobody has said that what is
		// behind it may be hidden.
		return answer{Says: holdWords(s, l, "") + openWords("check", openOf{whole, ofWhole}) + ".", Open: whole, Mark: "stop", Layer: l.N,
			Do: recordStep(j, s, whole[0])}, true
	case l.State == jobs.Accepted:
		return answer{}, false // a supervisor saw it and said that it may be covered
	case len(l.Weak) > 0:
		c := l.Weak[0]
		says := holdWords(s, l, " yet") + fmt.Sprintf("%s, %s, passed, but %s. It needs %s, or the supervisor's yes.", c.Rule.Code, jobs.Lower(c.Rule.Title), weakWords(c), lacks(c))
		return answer{Says: says, Mark: "stop", Layer: l.N, Do: recordStep(j, s, c), Or: layerStep(j, s, fmt.Sprintf("Layer %d is ready to be seen", l.N), l.N, "ready")}, true
	}
	return answer{}, false
}

func recordStep(j *jobs.Job, s *jobs.Surface, c *jobs.Check) step {
	return step{"Record " + c.Rule.Code + ": " + jobs.Lower(c.Rule.Title), checkPath(j, s, c)}
}

// weakWords and lacks say what a pass on weak evidence rests on, and what it lacks.
func weakWords(c *jobs.Check) string {
	if c.Evidence >= 2 {
		return "by photo only"
	}
	if c.Evidence == 1 {
		return "said so only"
	}
	return "without evidence"
}

func lacks(c *jobs.Check) string {
	switch {
	case c.Evidence >= 2:
		return "a measured value"
	case c.Rule.Unmeasured:
		return "a photo"
	}
	return "a photo and a measured value"
}

// finished is the answer when every layer is in place.
func finished(j *jobs.Job, s *jobs.Surface) answer {
	last := s.Layers[len(s.Layers)-1]
	switch {
	case last.Covered >= last.Share:
		if unseen := unseenLayers(s); unseen > 0 {
			return answer{Says: fmt.Sprintf("Everything is covered, %s of it unseen.", jobs.Count(unseen, "layer")), Mark: "could_not_see"}
		}
		if len(s.Layers) == 1 {
			return answer{Says: "The one layer is in place and covered.", Mark: "passed"}
		}
		return answer{Says: fmt.Sprintf("All %d layers are in place and covered.", len(s.Layers)), Mark: "passed"}
	}
	if a, held := keptFrom(j, s, last, hiddenBy(s, last)); held {
		return a
	}
	a := answer{Says: "All layers are on. Record the skim, paint or floor finish when it goes on.", Layer: last.N,
		Do: layerStep(j, s, fmt.Sprintf("Record layer %d covered", last.N), last.N, "cover")}
	if last.State == jobs.Installed {
		a.Or = layerStep(j, s, fmt.Sprintf("Layer %d is ready to be seen", last.N), last.N, "ready")
	}
	return a
}

// unseenLayers counts the layers that were covered before they were seen.
func unseenLayers(s *jobs.Surface) int {
	n := 0
	for _, l := range s.Layers {
		if l.CoveredUnseen {
			n++
		}
	}
	return n
}

// nextLayer is the first, outward, that is not whole in place; nil when all are.
func nextLayer(s *jobs.Surface) *jobs.Layer {
	i := slices.IndexFunc(s.Layers, func(l *jobs.Layer) bool { return !l.Whole() })
	if i < 0 {
		return nil
	}
	return s.Layers[i]
}

// holds tells whether a stop check is still to be answered; it is the words that the page needs, the job itself decides
// what may be covered.
func holds(c *jobs.Check) bool {
	return c.State != jobs.CheckPassed && c.State != jobs.CheckNotApplicable && !c.Released
}

// screwSentence says which screw to use.
func screwSentence(w jobs.ScrewWindow) string {
	if w.Fits() {
		return "Screw " + thicknessOf(w.StockMM) + "."
	}
	if w.MinMM > w.MaxMM {
		return "No screw can hold here: see the warnings."
	}
	return fmt.Sprintf("No stock screw fits %s to %s.", decimal(w.MinMM, 1), thicknessOf(w.MaxMM))
}

func disputeOn(d jobs.Dispute) string {
	if rule, ok := jobs.RuleOf(d.On.Check); ok && d.On.Layer > 0 {
		return fmt.Sprintf("layer %d, %s %s", d.On.Layer, rule.Code, jobs.Lower(rule.Title))
	}
	if d.On.Layer > 0 {
		return fmt.Sprintf("layer %d", d.On.Layer)
	}
	return d.About
}

// fault is a record that found something wrong, not put right yet.
type fault struct {
	Record *jobs.Record
	Words  string
}

// faultsOn lists what is still to be put right on a layer, 0 for the whole surface.
func faultsOn(j *jobs.Job, s *jobs.Surface, layer int) []fault {
	var fs []fault
	for _, r := range s.Work() {
		if r.On.Layer != layer || !j.InForce(r) || j.CuredBy(r) != nil {
			continue
		}
		switch d := r.What.(type) {
		case *jobs.CheckResult:
			if d.Result == jobs.Fail {
				rule, _ := jobs.RuleOf(d.Check)
				fs = append(fs, fault{r, d.Check + " " + jobs.Lower(rule.Title)})
			}
		case *jobs.Audit:
			if d.Answer == jobs.AnswerPutRight {
				words := "the supervisor asked for it"
				if d.Note != "" {
					words = d.Note
				}
				fs = append(fs, fault{r, strings.TrimRight(words, ".")})
			}
		}
	}
	return fs
}
