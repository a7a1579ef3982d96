package pages

import (
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/server/drawing"
	"tacet/sync/replica"
)

var _ = register(Page{Name: "surface", Path: "/jobs/:job/s/:surface", Live: true, Roles: everybody, Get: getSurface, View: surfaceView{}})

// surfaceView is one surface: the answer, the section, a line for each layer, one action, and the rest.
type surfaceView struct {
	frame
	Where     []crumb
	Mark      template.HTML
	Answer    string
	Also      string
	Heard     string // the supervisor's newest answer
	Measured  []measuredLine
	Open      []checkLine
	Rest      []checkLine
	RestSays  string
	Read      string // how the visitor came here
	Undo      *undo
	Picture   picture
	Layers    []layerLine
	Do, Or    step
	Warnings  []string
	Facts     []factLine
	FactsNote string
	Forecasts []forecastLine
	Whole     []checkLine
	WholeDone int
	WholeOpen string // where their stop checks are released, for supervisors
	Cautions  []cautionLine
	Questions string
	History   []recordLine
	Older     int
	Href      string
	Code      string
	Size      string
	More      []step // where it is described, specified and signed off
}

// layerLine is a layer as its line and what is under it.
type layerLine struct {
	N                                     int
	What                                  string
	Specified, Installed, Thickness       number
	Screw                                 string
	State                                 string
	Mark                                  template.HTML
	Accept                                []string
	Checks                                []checkLine
	Records                               []recordLine
	Deeds                                 []step
	SubstituteAsked, CoverAt, SpecifiedAs string
}

// number is a figure in a column, with its unit; Pad is what it lacks of the decimals of the others.
type number struct {
	Text string
	Pad  string
	Unit string
}

// numberOf parts what a formatter wrote.
func numberOf(written string) number {
	text, unit, _ := strings.Cut(written, thin)
	return number{Text: text, Unit: unit}
}

// align lets the points of a column's numbers stand under each other.
func align(column ...*number) {
	fraction := func(n *number) string {
		if i := strings.Index(n.Text, "."); i >= 0 {
			return n.Text[i:]
		}
		return ""
	}
	longest := 0
	for _, n := range column {
		longest = max(longest, len(fraction(n)))
	}
	for _, n := range column {
		n.Pad = ".000"[len(fraction(n)):longest]
	}
}

// checkLine is a check as its line: where it stands and where it is answered.
type checkLine struct {
	Code, Title, Href, State string
	Layer                    int
	Stop, Bare               bool // Bare: nobody has answered it
	StopMark, Mark           template.HTML
}

// undo is the last thing that the visitor recorded here, while it may be taken back without giving a reason.
type undo struct {
	Says, Action string
	Also         []hidden // what was recorded with it
}

const undoFor = 10 * time.Minute

// factLine is a quantity as specified, as achieved so far, and as it will be when the rest is finished as specified.
type factLine struct{ Name, Specified, Achieved, Finished, Limit string }

const historyShown = 20

func getSurface(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	a := answerOf(j, s)
	states := v.states(j)
	view := surfaceView{Where: whereSurface(j, s), Mark: mark(drawing.Mark(a.Mark)), Answer: a.Says, Also: a.Also, Measured: measuredLines(j, s), Do: a.Do, Or: a.Or,
		Open: checkLines(j, s, a.Open), Rest: checkLines(j, s, a.Rest), RestSays: a.RestSays,
		Picture: pictureOf(j, s), Href: surfacePath(j, s), Cautions: cautionLines(j, s),
		Code: jobs.FormatSheetCode(jobs.SheetCode(j.ID, s.Code)), Size: sizeOf(s)}
	view.Where[len(view.Where)-1].Href = ""
	view.Heard = v.heard(j, s, a)
	if v.c.Query("read") != "" {
		view.Read = "Read in the photo: sheet " + view.Code + ", which is " + s.Code + " of " + j.Name + "."
	}
	view.Questions = questionsTitle(view.Cautions)
	for _, w := range s.Warnings {
		view.Warnings = append(view.Warnings, sentence(w))
	}
	for _, l := range s.Layers {
		view.Layers = append(view.Layers, v.layerLine(j, s, l, states))
	}
	var specified, installed, thick []*number
	for i := range view.Layers {
		l := &view.Layers[i]
		specified, installed, thick = append(specified, &l.Specified), append(installed, &l.Installed), append(thick, &l.Thickness)
	}
	align(specified...)
	align(installed...)
	align(thick...)
	if n := a.Layer; n > 0 && (Page{Roles: judges}).MayOpen(v.who.Role) && s.Layer(n).State == jobs.ReadyToBeSeen {
		view.Do = step{fmt.Sprintf("Answer: layer %d is ready to be seen", n), layerPath(j, s, n, "answer")}
	}
	view.Facts, view.FactsNote = factsOf(j, s)
	view.Forecasts = forecastLines(j.PredictSurface(s), j.TargetsFor(s))
	view.Whole = checkLines(j, s, s.ChecksOf(0))
	for _, c := range s.ChecksOf(0) {
		if c.State != jobs.CheckOpen {
			view.WholeDone++
		}
		if c.Rule.Stop && holds(c) && v.who.Role.Judges() {
			view.WholeOpen = layerPath(j, s, 0, "release")
		}
	}
	work := s.Work()
	if n := len(work); n > historyShown {
		view.Older, work = n-historyShown, work[n-historyShown:]
	}
	view.History = v.placedLines(j, work, states)
	view.Undo = v.undoable(j, s)
	view.More = v.surfaceSteps(j, s)
	view.frame = v.frame(s.Code + ": " + a.Says)
	return v.show("surface", view)
}

func layerPath(j *jobs.Job, s *jobs.Surface, n int, to string) string {
	return fmt.Sprintf("%s/%d/%s", surfacePath(j, s), n, to)
}

func (v *visit) layerLine(j *jobs.Job, s *jobs.Surface, l *jobs.Layer, states map[string]replica.State) layerLine {
	line := layerLine{N: l.N, What: jobs.Capital(l.Name()), Specified: numberOf(massOf(l.SpecifiedMass())),
		State: stateWords(l), Mark: mark(layerMarks[l.Standing()])}
	if t := l.Now.ThicknessMM(); t > 0 {
		line.Thickness = numberOf(thicknessOf(t))
	}
	if l.Share > 0 {
		line.Installed = numberOf(massOf(l.InstalledMass))
	}
	if w, ok := s.ScrewWindow(l); ok {
		line.Screw = "none in stock fits " + decimal(w.MinMM, 1) + " to " + thicknessOf(w.MaxMM)
		if w.Fits() {
			line.Screw = decimal(w.StockMM, 0) + " (" + decimal(w.MinMM, 1) + " to " + thicknessOf(w.MaxMM) + ")"
		}
	}
	line.Checks = checkLines(j, s, s.ChecksOf(l.N))
	rs := inForce(j, s, l.N)
	line.Records = v.recordLines(j, rs, states)
	if was, now := l.SpecifiedName(), l.Name(); was != now {
		line.SpecifiedAs = "In place of " + jobs.Lower(was) + "."
	}
	if sub := j.OpenSubstitute(s, l.N); sub != nil {
		e := j.EffectOf(s, l, sub)
		line.SubstituteAsked = askedWords(e) + e.New + ". " + sentence(e.Reason) + " With it: " + effectWords(e)
	}
	if l.State == jobs.ReadyToBeSeen && l.CoverAt != "" {
		if t, err := time.Parse(time.RFC3339, l.CoverAt); err == nil {
			line.CoverAt = "To be covered " + v.clock(t) + "."
		}
	}
	line.Deeds = v.deeds(j, s, l, line)
	return line
}

// deeds are what can be done with a layer besides the page's one action.
func (v *visit) deeds(j *jobs.Job, s *jobs.Surface, l *jobs.Layer, line layerLine) []step {
	judge := (Page{Roles: judges}).MayOpen(v.who.Role)
	to := func(text, page string) step { return step{text, layerPath(j, s, l.N, page)} }
	var ds []step
	for _, f := range faultsOn(j, s, l.N) {
		ds = append(ds, step{"Put right: " + f.Words, surfacePath(j, s) + "/right/" + f.Record.ID})
	}
	if !l.Whole() {
		ds = append(ds, to("Record it in place", "install"), to("Record a delivery", "deliver"))
	}
	if l.Share > 0 && l.Covered < l.Share-1e-9 {
		ds = append(ds, to("Ready to be seen", "ready"))
	}
	if l.N == len(s.Layers) && l.Share > 0 && l.Covered == 0 {
		ds = append(ds, to("Record it covered", "cover"))
	}
	if judge && l.Share > 0 {
		ds = append(ds, to("Answer: cover, put right, coming", "answer"))
	}
	if judge && len(l.Open) > 0 {
		ds = append(ds, to("Release stop checks", "release"))
	}
	if line.SubstituteAsked != "" && v.who.Role.Specifies() {
		ds = append(ds, to("Answer the substitution", "substitute"))
	} else {
		ds = append(ds, to("Ask for a substitution", "substitute"))
	}
	if v.who.Role.Specifies() {
		ds = append(ds, to("Specify it in detail", "detail"))
	}
	if judge {
		ds = append(ds, to("Sign it off", "sign-off"))
	}
	return append(ds, step{"Write a note", surfacePath(j, s) + "/note?layer=" + strconv.Itoa(l.N)})
}

func checkLineOf(j *jobs.Job, s *jobs.Surface, c *jobs.Check) checkLine {
	l := checkLine{Code: c.Rule.Code, Title: c.Rule.Title, Layer: c.Layer, Stop: c.Rule.Stop, Bare: c.State == jobs.CheckOpen, State: checkWords(j, c), Mark: mark(checkMarks[c.State]),
		Href: checkPath(j, s, c)}
	if c.Rule.Stop {
		l.StopMark = mark(drawing.MarkStop)
	}
	if on := s.Layer(c.Layer); on != nil && slices.Contains(on.Weak, c) {
		l.State += "; needs " + strings.ReplaceAll(lacks(c), "a photo and a measured value", "photo and value")
	}
	return l
}

func checkPath(j *jobs.Job, s *jobs.Surface, c *jobs.Check) string {
	return layerPath(j, s, c.Layer, "check/"+c.Rule.Code)
}

// checkWords is where a check stands: its state, a value that does not meet its criterion, what its evidence is worth, whether it was
// released.
func checkWords(j *jobs.Job, c *jobs.Check) string {
	return standing(c, outsideWords(j, c))
}

// standing puts what was measured behind the state.
func standing(c *jobs.Check, measured string) string {
	w := spaced(c.State)
	if measured != "" {
		w += ", " + measured
	}
	if c.State != jobs.CheckOpen && len(c.Heads) > 0 {
		w += ", " + evidenceWords[min(c.Evidence, len(evidenceWords)-1)]
	}
	if c.Released && c.State != jobs.CheckPassed {
		w += ", released"
	}
	return w
}

// factsOf compares what was specified with what is in place and with what it comes to: what is fitted, and the rest as it is
// now specified.
func factsOf(j *jobs.Job, s *jobs.Surface) ([]factLine, string) {
	var specified, now float64
	for _, l := range s.Layers {
		specified += l.Specified.ThicknessMM()
		if l.Share > 0 {
			now += l.FittedMM()
		}
	}
	facts := []factLine{
		{Name: "Mass", Specified: massOf(s.SpecifiedMass()), Achieved: massOf(s.InstalledMass()), Finished: massOf(s.CarriedMass())},
		{Name: "Thickness", Specified: thicknessOf(specified), Achieved: thicknessOf(now), Finished: thicknessOf(s.ThicknessMM()), Limit: limitOf(s.ThicknessLimit, thicknessOf)},
	}
	load := factLine{Name: "Added load", Finished: loadOf(j.AddedLoad(s)), Limit: limitOf(s.LoadLimit, loadOf)}
	facts = append(facts, load)
	note := "Achieved is what is in place as it was fitted. When finished as specified: that, and the rest as it is specified now. The load is a sum, not a judgement: a structural engineer decides."
	if st := j.Structure(s.Structure); st != nil {
		if s.LoadLimit == nil && st.LoadLimit != nil {
			facts[len(facts)-1].Limit = "agreed for " + st.Code
		}
		facts = append(facts, factLine{Name: "Load on " + st.Code + ", all surfaces", Finished: loadOf(j.StructureLoad(st)), Limit: limitOf(st.LoadLimit, loadOf)})
	}
	return facts, note
}

func limitOf(v *float64, write func(float64) string) string {
	if v == nil {
		return "none agreed"
	}
	return write(*v)
}

// undoable is the visitor's latest record on the surface that is in force, if it is recent.
func (v *visit) undoable(j *jobs.Job, s *jobs.Surface) *undo {
	var r *jobs.Record
	for _, one := range slices.Backward(j.Records) {
		recent := v.deps.Now().Sub(one.Clk.Time()) <= undoFor
		if recent && one.By == v.who.Person && one.Kind != "withdraw" && j.InForce(one) && concerns(j, one, s) {
			r = one
			break
		}
	}
	if r == nil {
		return nil
	}
	says := "You recorded " + v.clock(r.Clk.Time()) + ": "
	if r.On.Layer > 0 {
		says += fmt.Sprintf("layer %d, ", r.On.Layer)
	}
	says += strings.TrimSuffix(j.Says(r), ".")
	u := &undo{Action: jobPath(j) + "/withdraw/" + r.ID}
	for _, with := range inOneGo(j, r) {
		says += "; " + strings.TrimSuffix(j.Says(with), ".")
		u.Also = append(u.Also, hidden{"also", with.ID})
	}
	u.Says = says + "."
	return u
}

// concerns tells whether a record is work on the surface, or answers such work. Layer lists and descriptions are not taken
// back in passing.
func concerns(j *jobs.Job, r *jobs.Record, s *jobs.Surface) bool {
	on := func(r *jobs.Record) bool { return slices.Contains(s.Work(), r) }
	if on(r) {
		return true
	}
	return slices.ContainsFunc(r.Refers(jobs.Over), func(h jobs.Hash) bool { named := j.ByHash(h); return named != nil && on(named) })
}
