package pages

import (
	"context"
	"math"
	"regexp"
	"slices"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/drawing"
)

// TakenAlong is what a phone without a signal has of a job: what its pages show, as worked out here and now, and the forms with which
// it records. The phone adds what it records itself and draws no conclusion from it.
type TakenAlong struct {
	Job      string               `json:"job"`
	Name     string               `json:"name"`
	Site     string               `json:"site"`
	Made     int64                `json:"made"` // ms
	Rules    map[string]takenRule `json:"rules"`
	Note     takenForm            `json:"note"`
	Photo    takenForm            `json:"photo"`
	Cautions []takenCaution       `json:"cautions"`
	Surfaces []takenSurface       `json:"surfaces"`
}

type takenSurface struct {
	Code     string         `json:"code"`
	Where    string         `json:"where"`
	Size     string         `json:"size"`
	Sheet    string         `json:"sheet"` // its readable code
	Answer   string         `json:"answer"`
	Also     string         `json:"also"`
	Heard    string         `json:"heard"`
	Open     []takenOpen    `json:"open"`  // the open checks that the answer counts
	Names    string         `json:"names"` // these in words
	Rest     []takenOpen    `json:"rest"`  // the other open stop checks of the whole surface
	RestSays string         `json:"rest_says"`
	Mark     string         `json:"mark"`
	Layer    int            `json:"layer"`   // that the answer speaks of
	Do       takenStep      `json:"do"`      // what to record next
	Section  string         `json:"section"` // SVG
	Alt      string         `json:"alt"`     // what it shows, in words
	Mini     string         `json:"mini"`
	Warnings []string       `json:"warnings"`
	Cautions []takenCaution `json:"cautions"`
	Whole    []takenCheck   `json:"whole"`
	Layers   []takenLayer   `json:"layers"`
	List     jobs.Hash      `json:"list"` // the layer list in force
}

// takenOpen names one of the checks of a surface, layer 0 for the whole of it.
type takenOpen struct {
	Layer int    `json:"layer"`
	Code  string `json:"code"`
}

func takeOpen(checks []*jobs.Check) []takenOpen {
	open := []takenOpen{}
	for _, c := range checks {
		open = append(open, takenOpen{c.Layer, c.Rule.Code})
	}
	return open
}

// takenStep is what the answer asks for: a layer to put on or a check to record.
type takenStep struct {
	Text  string `json:"text"`
	Layer int    `json:"layer"`
	What  string `json:"what"` // install, cover, ready, or the code of a check; "" for nothing that a phone records
}

type takenLayer struct {
	N           int           `json:"n"`
	What        string        `json:"what"`
	Figures     []string      `json:"figures"`
	State       string        `json:"state"`
	Mark        string        `json:"mark"`
	Says        []string      `json:"says"`
	Checks      []takenCheck  `json:"checks"`
	Records     []takenRecord `json:"records"`
	Install     takenForm     `json:"install"`
	InstallRefs []jobs.Ref    `json:"install_refs"`
	Substitute  takenForm     `json:"substitute"`
	New         any           `json:"new"` // the layer as a body writes it, to be changed into what is asked for
	SubRefs     []jobs.Ref    `json:"substitute_refs"`
}

type takenCheck struct {
	Code  string     `json:"code"`
	State string     `json:"state"`
	Mark  string     `json:"mark"`
	Refs  []jobs.Ref `json:"refs"`
	Own   *takenOwn  `json:"own,omitempty"`
	// Passes is what a measured value has to be on this surface, by its name in the form.
	Passes map[string]takenCriterion `json:"passes,omitempty"`
}

type takenCriterion struct {
	Min    *float64 `json:"min,omitempty"`
	Max    *float64 `json:"max,omitempty"`
	Asks   string   `json:"asks"`
	Misses string   `json:"misses"`
	Wanted string   `json:"wanted,omitempty"` // what is asked where it passes without the value; empty: nothing
}

// takenOwn is the visitor's own answer in force, which another may supersede.
type takenOwn struct {
	H    jobs.Hash `json:"h"`
	Says string    `json:"says"`
	Fail bool      `json:"fail"`
}

type takenRecord struct {
	Says string `json:"says"`
	By   string `json:"by"`
	At   string `json:"at"`
	Note string `json:"note"`
}

type takenCaution struct {
	Name string `json:"name"`
	Asks string `json:"asks"`
	Says string `json:"says"`
	Open bool   `json:"open"`
}

// takenRule is a check as it is asked everywhere.
type takenRule struct {
	Title  string      `json:"title"`
	Stop   bool        `json:"stop"`
	Asked  [][2]string `json:"asked"`
	WhyNot string      `json:"why_not"` // what is said when it does not apply and nothing says why
	Form   takenForm   `json:"form"`
}

// takenForm is a form of the pages.
type takenForm struct {
	Title string   `json:"title"`
	Lead  []string `json:"lead"`
	Stops []string `json:"stops"`
	// What stops it as long as the phone has not recorded it itself: layers beneath it that are not in place, and the rest.
	Missing []int        `json:"missing,omitempty"`
	Until   []takenUntil `json:"until,omitempty"`
	Reason  *takenReason `json:"reason,omitempty"`
	Submit  string       `json:"submit"`
	Fields  []takenField `json:"fields"`
}

// takenUntil is a stop that is gone once the phone itself has recorded the layer or the check that it is about.
type takenUntil struct {
	Says  string `json:"says"`
	Layer int    `json:"layer"`
	What  string `json:"what"`            // as of takenStep
	After int    `json:"after,omitempty"` // the layer that the phone has to have recorded in place before this stands in the way
}

// takenReason is what a form asks for while anything is in the way.
type takenReason struct {
	Submit string `json:"submit"` // behind the words of the button
	Says   string `json:"says"`
}

// takeWay keeps what is in the way of a layer, one by one: the phone strikes out what it records itself, and asks for a reason while any of
// it is left.
func (t *takenForm) takeWay(s *jobs.Surface, l *jobs.Layer, way inTheWay) {
	for _, w := range way.Wrong {
		t.Until = append(t.Until, takenUntil{Says: w.Says})
	}
	for _, m := range way.Missing {
		if m.Share > 0 {
			t.Until = append(t.Until, takenUntil{Says: missingWords([]*jobs.Layer{m}), Layer: m.N, What: "install"})
			continue
		}
		t.Missing = append(t.Missing, m.N)
	}
	held := slices.Concat(way.Open, way.Behind)
	t.takeOpen(held, 0)
	// What this one covers may be put on by the phone itself, and is then to be seen first.
	if below := s.Layer(l.N - 1); below != nil && slices.Contains(way.Missing, below) {
		t.takeOpen(slices.DeleteFunc(slices.Concat(below.Open, hiddenBy(s, below)), func(c *jobs.Check) bool { return slices.Contains(held, c) }), below.N)
	}
}

func (t *takenForm) takeOpen(checks []*jobs.Check, after int) {
	for _, c := range checks {
		of := ofWhole
		if c.Layer > 0 {
			of = " of layer " + itoa(c.Layer)
		}
		t.Until = append(t.Until, takenUntil{c.Name() + of + " " + standsWords([]*jobs.Check{c}) + ".", c.Layer, c.Rule.Code, after})
	}
}

type takenField struct {
	Kind    string        `json:"kind"`
	Name    string        `json:"name"`
	Label   string        `json:"label"`
	Hint    string        `json:"hint,omitempty"`
	Unit    string        `json:"unit,omitempty"`
	Value   string        `json:"value,omitempty"`
	Options []takenOption `json:"options,omitempty"`
	Missing string        `json:"missing,omitempty"` // what is said when it is left out; empty where it may be
	Refused string        `json:"refused,omitempty"` // what is said beyond the range
	Range   *takenRange   `json:"range,omitempty"`
}

type takenOption struct {
	Value   string `json:"value"`
	Label   string `json:"label"`
	Hint    string `json:"hint,omitempty"`
	Checked bool   `json:"checked,omitempty"`
}

// takenRange is where a number may lie.
type takenRange struct {
	Min   float64  `json:"min"`
	Max   *float64 `json:"max,omitempty"`
	Above bool     `json:"above,omitempty"`
}

// TakeAlong makes what a person's phone keeps of a job.
func (p *Pages) TakeAlong(ctx context.Context, who Visitor, job string) (TakenAlong, error) {
	v := &visit{Pages: p, ctx: ctx, who: who, later: true}
	j, err := p.deps.Record.Job(ctx, who.Company, job)
	if err != nil {
		return TakenAlong{}, err
	}
	t := TakenAlong{Job: j.ID, Name: j.Name, Site: j.Site, Made: p.deps.Now().UnixMilli(), Rules: map[string]takenRule{}, Cautions: takenCautions(j, nil), Surfaces: []takenSurface{}}
	t.Note = takeForm(noteView(j, nil, 0), map[string]bool{"text": true}, nil)
	t.Photo = takenForm{Title: "A photo", Lead: []string{}, Stops: []string{}, Submit: "Record the photo", Fields: []takenField{takeField(photoField(""), true, nil), takeField(noteField(), false, nil)}}
	for _, s := range j.Surfaces {
		kept, err := v.takeSurface(j, s, t.Rules)
		if err != nil {
			return TakenAlong{}, err
		}
		t.Surfaces = append(t.Surfaces, kept)
	}
	return t, nil
}

func (v *visit) takeSurface(j *jobs.Job, s *jobs.Surface, rules map[string]takenRule) (takenSurface, error) {
	a := answerOf(j, s)
	d := Section(j, s)
	t := takenSurface{Code: s.Code, Where: roomName(j, s), Size: sizeOf(s), Sheet: jobs.SheetCode(j.ID, s.Code), Answer: drawing.Bind(a.Says), Also: a.Also, Heard: v.heard(j, s, a), Open: takeOpen(a.Open), Names: jobs.CheckNames(a.Open), Rest: takeOpen(a.Rest), RestSays: a.RestSays, Mark: a.Mark, Layer: a.Layer,
		Do: stepOf(a.Do, surfacePath(j, s)), Section: string(d.SVG(328)), Alt: d.TitleWords() + " " + d.DescWords(), Mini: string(d.Mini()), Warnings: []string{}, Cautions: takenCautions(j, s), Whole: []takenCheck{}, Layers: []takenLayer{}}
	if s.List != nil {
		t.List = s.List.Hash
	}
	for _, w := range s.Warnings {
		t.Warnings = append(t.Warnings, sentence(w))
	}
	for _, c := range s.ChecksOf(0) {
		t.Whole = append(t.Whole, v.takeCheck(j, s, c, rules))
	}
	for _, l := range s.Layers {
		kept, err := v.takeLayer(j, s, l, rules)
		if err != nil {
			return t, err
		}
		t.Layers = append(t.Layers, kept)
	}
	return t, nil
}

// stepAt reads where an action of a surface's page leads.
var stepAt = regexp.MustCompile(`^/(\d+)/(install|cover|ready|check/(K\d+))$`)

func stepOf(do step, surface string) takenStep {
	m := stepAt.FindStringSubmatch(strings.TrimPrefix(do.To, surface))
	if m == nil {
		return takenStep{}
	}
	t := takenStep{Text: do.Text, What: m[2]}
	for _, c := range m[1] {
		t.Layer = t.Layer*10 + int(c-'0')
	}
	if m[3] != "" {
		t.What = m[3]
	}
	return t
}

func (v *visit) takeLayer(j *jobs.Job, s *jobs.Surface, l *jobs.Layer, rules map[string]takenRule) (takenLayer, error) {
	line := v.layerLine(j, s, l, nil)
	t := takenLayer{N: l.N, What: drawing.Bind(line.What), State: line.State, Mark: string(layerMarks[l.Standing()]), Figures: []string{}, Says: []string{}, Checks: []takenCheck{}, Records: []takenRecord{}}
	for _, f := range []struct {
		name string
		n    number
	}{{"specified", line.Specified}, {"installed", line.Installed}, {"", line.Thickness}} {
		if f.n.Text != "" {
			t.Figures = append(t.Figures, strings.TrimSpace(f.name+" "+f.n.Text+"\u202f"+f.n.Unit))
		}
	}
	if line.Screw != "" {
		t.Figures = append(t.Figures, "screw "+line.Screw)
	}
	for _, says := range append(line.Accept, line.SpecifiedAs, line.SubstituteAsked, line.CoverAt) {
		if says != "" {
			t.Says = append(t.Says, says)
		}
	}
	for _, c := range s.ChecksOf(l.N) {
		t.Checks = append(t.Checks, v.takeCheck(j, s, c, rules))
	}
	for _, r := range line.Records {
		t.Records = append(t.Records, takenRecord{Says: r.Says, By: r.By, At: r.At, Note: r.Note})
	}
	on := jobs.AtLayer{Surface: s.Code, Layer: l.N}
	left := shareLeft(l) * 100
	install, way := installView(v, j, s, l)
	t.Install = takeForm(install, map[string]bool{"share": true}, map[string]takenLimit{
		"share": {acoustics.Range{Max: left, Above: true}, shareRefused(l)}, "mass_kg_m2": {jobs.MassRange, ""}})
	t.Install.Reason = &takenReason{allTheSame, sayWhyOn}
	if way.must() {
		t.Install.Stops = []string{}
		t.Install.takeWay(s, l, way)
	}
	t.InstallRefs = refsOf(j, &jobs.Install{AtLayer: on})
	view, _, err := substituteView(v, j, s, l)
	if err != nil {
		return t, err
	}
	t.Substitute = takeForm(view, map[string]bool{"state": true, "reason": true}, nil)
	t.SubRefs = refsOf(j, &jobs.Substitute{AtLayer: on, State: jobs.Asked})
	t.New, err = jobs.LayerBody(l.Now)
	return t, err
}

func refsOf(j *jobs.Job, what jobs.Recording) []jobs.Ref {
	if refs := j.Names(what); refs != nil {
		return refs
	}
	return []jobs.Ref{}
}

// takeCheck keeps where a check stands, and its rule with the others.
func (v *visit) takeCheck(j *jobs.Job, s *jobs.Surface, c *jobs.Check, rules map[string]takenRule) takenCheck {
	line := checkLineOf(j, s, c)
	t := takenCheck{Code: c.Rule.Code, State: line.State, Mark: string(checkMarks[c.State]), Refs: refsOf(j, &jobs.CheckResult{AtLayer: jobs.AtLayer{Surface: s.Code, Layer: c.Layer}, Check: c.Rule.Code})}
	if own := ownAnswer(v, j, c); own != nil {
		t.Own = &takenOwn{H: own.Hash, Says: j.Says(own), Fail: own.What.(*jobs.CheckResult).Result == jobs.Fail}
	}
	for _, m := range c.Rule.Measures {
		if in := s.Criterion(c, m.Key); in != nil {
			if t.Passes == nil {
				t.Passes = map[string]takenCriterion{}
			}
			wanted := takenCriterion{Min: finite(in.Min), Max: finite(in.Max), Asks: sentence(in.Asks()), Misses: in.Misses()}
			if c.Rule.Stop {
				wanted.Wanted = withoutValue(m)
			}
			t.Passes["measured."+m.Key] = wanted
		}
	}
	if _, done := rules[c.Rule.Code]; done {
		return t
	}
	view := checkView(v, j, s, c)
	r := takenRule{Title: c.Rule.Title, Stop: c.Rule.Stop, WhyNot: "Say why " + c.Rule.Code + " does not apply."}
	for _, a := range view.Asked {
		if a.Says != "" {
			r.Asked = append(r.Asked, [2]string{a.Name, a.Says})
		}
	}
	limits := map[string]takenLimit{}
	for _, m := range c.Rule.Measures {
		limits["measured."+m.Key] = takenLimit{m.Range, ""}
	}
	r.Form = takeForm(view, map[string]bool{"result": true}, limits)
	r.Form.Title = c.Rule.Code + " " + c.Rule.Title
	rules[c.Rule.Code] = r
	return t
}

// takenLimit is the range of a number, and what is said beyond it where that is not the usual sentence.
type takenLimit struct {
	acoustics.Range
	refused string
}

// takeForm keeps a form; what a page asks only in view of one record is left to the phone.
func takeForm(view recordView, needed map[string]bool, limits map[string]takenLimit) takenForm {
	t := takenForm{Title: drawing.Bind(view.Answer), Lead: orNone(view.Lead), Stops: saidStops(view.Stops), Submit: view.Form.Submit, Fields: []takenField{}}
	for _, f := range view.Form.Fields {
		if f.Name == "over" {
			continue
		}
		var limit *takenLimit
		if l, ok := limits[f.Name]; ok {
			limit = &l
		}
		t.Fields = append(t.Fields, takeField(f, needed[f.Name], limit))
	}
	return t
}

func saidStops(lines []stopLine) []string {
	says := make([]string, len(lines))
	for i, l := range lines {
		says[i] = l.Says
	}
	return says
}

func takeField(f field, needed bool, limit *takenLimit) takenField {
	t := takenField{Kind: f.Kind, Name: f.Name, Label: f.Label, Hint: f.Hint, Unit: f.Unit, Value: f.Value}
	for _, o := range f.Options {
		t.Options = append(t.Options, takenOption(o))
	}
	if needed {
		t.Missing = inputSentence(f.Label, &jobs.InputError{Value: "missing"})
	}
	if limit == nil {
		return t
	}
	t.Range = &takenRange{Min: limit.Min, Max: finite(limit.Max), Above: limit.Above}
	t.Refused = limit.refused
	if in, ok := limit.Check(f.Name, math.Inf(-1)).(*jobs.InputError); ok && t.Refused == "" {
		t.Refused = inputSentence(f.Label, in)
	}
	return t
}

// finite is an end of a range, nil where there is none.
func finite(v float64) *float64 {
	if math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func takenCautions(j *jobs.Job, s *jobs.Surface) []takenCaution {
	cs := []takenCaution{}
	for _, c := range cautionLines(j, s) {
		cs = append(cs, takenCaution{Name: c.Name, Asks: c.Asks, Says: c.Says, Open: c.Open || s == nil})
	}
	return cs
}

func orNone(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}
