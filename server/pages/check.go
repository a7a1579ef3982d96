package pages

import (
	"strings"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/:layer/check/:check", Roles: everybody, Get: getCheck, Post: postCheck, View: recordView{}})

// check is the check that the path names; layer 0 is the surface as a whole.
func (v *visit) check() (*jobs.Job, *jobs.Surface, *jobs.Check, error) {
	j, s, err := v.surface()
	if err != nil {
		return nil, nil, nil, err
	}
	for _, c := range s.Checks {
		if strings.EqualFold(c.Rule.Code, v.param("check")) && itoa(c.Layer) == v.param("layer") {
			return j, s, c, nil
		}
	}
	return nil, nil, nil, jobs.ErrNotFound
}

func checkView(v *visit, j *jobs.Job, s *jobs.Surface, c *jobs.Check) recordView {
	rule := c.Rule
	var asked []pair
	if l := s.Layer(c.Layer); l != nil {
		asked = append(asked, pair{"Specified", jobs.Capital(l.Name()) + ", " + massOf(l.Now.MassKgM2())})
	}
	view := recordView{Where: whereSurface(j, s), Answer: rule.Code + " " + rule.Title + onLayer(c.Layer), BeforeTitle: "Recorded so far",
		Asked: append(asked, []pair{{"Accept when", rule.Accept}, {"How", rule.How}, {"Photo", photoWords(rule.Photo)}, {"If it is wrong", rule.Fault}}...),
		Form:  form{Upload: true, Submit: "Record " + rule.Code, More: commonFields()}}
	if rule.Stop {
		view.Stops = stopLines("Stop: nothing is covered before this has passed, or a supervisor has released it.")
	}
	f := &view.Form
	f.Fields = append(f.Fields, field{Kind: "choice", Name: "result", Label: "Result", Options: []option{
		{Value: "pass", Label: "Passed"}, {Value: "fail", Label: "Failed"},
		{Value: "could_not_see", Label: "Could not see it"}, {Value: "not_applicable", Label: "Does not apply here", Hint: "Say why in the note."}}})
	for _, m := range rule.Measures {
		f.Fields = append(f.Fields, field{Kind: "decimal", Name: "measured." + m.Key, Label: jobs.Capital(m.Name), Unit: m.Range.Unit})
	}
	f.Fields = append(f.Fields, photoField(photoWords(rule.Photo)))
	if v.who.Role.Judges() {
		f.Fields = append(f.Fields, field{Kind: "choice", Name: "evidence", Label: "How you know", Options: []option{
			{Value: "3", Label: "By photo, measured", Checked: true}, {Value: "4", Label: "Seen in person"}, {Value: "5", Label: "Opened up or tested"}}})
	}
	f.Fields = append(f.Fields, noteField())
	f.More = append(f.More, field{Kind: "text", Name: "certificate", Label: "Certificate", Hint: "Number and who issued it, where the check asks for one."})
	if own := ownAnswer(v, j, c); own != nil {
		f.Fields = append(f.Fields, field{Kind: "choice", Name: "over", Label: "You have answered this before: " + j.Says(own), Options: []option{
			{Value: own.ID, Label: "This takes its place", Checked: own.What.(*jobs.CheckResult).Result != jobs.Fail},
			{Value: "", Label: "This stands beside it", Checked: own.What.(*jobs.CheckResult).Result == jobs.Fail}}})
	}
	for _, fault := range faultsOn(j, s, c.Layer) {
		if fault.Record.On.Check == rule.Code {
			view.Link = step{"It was corrected: record it put right", surfacePath(j, s) + "/right/" + fault.Record.ID}
		}
	}
	var before []*jobs.Record
	for _, r := range s.Work() {
		if r.On.Layer == c.Layer && r.On.Check == rule.Code {
			before = append(before, r)
		}
	}
	view.Before = v.recordLines(j, before, v.states(j))
	return view
}

func onLayer(n int) string {
	if n == 0 {
		return ""
	}
	return ", layer " + itoa(n)
}

// ownAnswer is the visitor's own answer in force, the last if there are several.
func ownAnswer(v *visit, j *jobs.Job, c *jobs.Check) *jobs.Record {
	var own *jobs.Record
	for _, h := range c.Heads {
		if d, ok := h.What.(*jobs.CheckResult); ok && h.By == v.who.Person && !(d.Result == jobs.Fail && j.CuredBy(h) != nil) {
			own = h
		}
	}
	return own
}

// photoWords says what W, C and V ask for.
func photoWords(rule string) string {
	words := map[string]string{"W": "wide, with the surface's code in the picture", "C": "close, with a rule in the picture", "V": "three or more along the run"}
	codes, rest, _ := strings.Cut(rule, " ")
	codes = strings.TrimSuffix(codes, ",")
	var out []string
	for _, c := range strings.Split(codes, "+") {
		w, ok := words[c]
		if !ok {
			return "None asked for."
		}
		out = append(out, w)
	}
	s := strings.Join(out, "; and ")
	if rest != "" {
		s += "; " + rest
	}
	return sentence(s)
}

func getCheck(v *visit) error {
	j, s, c, err := v.check()
	if err != nil {
		return err
	}
	view := checkView(v, j, s, c)
	tellCriteria(&view.Form, s, c)
	return v.ask(view)
}

func postCheck(v *visit) error {
	j, s, c, err := v.check()
	if err != nil {
		return err
	}
	view := checkView(v, j, s, c)
	tellCriteria(&view.Form, s, c)
	r := v.read(&view.Form, "check")
	at(r.edge, s, c.Layer)
	r.edge["check"] = c.Rule.Code
	result := r.text("result")
	measured := map[string]any{}
	for _, m := range c.Rule.Measures {
		if n, ok := r.number("measured." + m.Key); ok {
			measured[m.Key] = n
		}
	}
	if len(measured) > 0 {
		r.edge["measured"] = measured
	}
	// What is claimed is capped by what is shown: without photo or measured value it counts less.
	r.edge["evidence"] = 3
	if v.who.Role.Judges() {
		if n, ok := r.number("evidence"); ok {
			r.edge["evidence"] = n
		}
	}
	r.text("certificate")
	doubtPass(r.f, s, c, result, r.text("note"), measured, itself)
	r.text("over")
	r.common()
	if err := v.photos(r); err != nil {
		return err
	}
	return v.finish(view, r, j, surfacePath(j, s))
}
