package pages

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "office", Path: "/jobs/:job/tests", Roles: everybody, Get: getTests, View: officeView{}})
	_ = registerDeed(deed{path: "/jobs/:job/test", roles: deciders, do: "sound_test", ask: askTest, edge: readTest, to: toTests})
	_ = registerDeed(deed{path: "/jobs/:job/right/:over", roles: everybody, do: "put_right", ask: askPutRight, edge: overRecord, to: toCured})
)

// toCured leads back to what was put right: a test stands with the others.
func toCured(on spot) string {
	if r := on.j.ByID(on.v.param("over")); r != nil && r.Kind == "sound_test" {
		return toTests(on)
	}
	return toHandover(on)
}

func toTests(on spot) string { return jobPath(on.j) + "/tests" }

// pasted are the lists of a measurement that are pasted as tables, by field.
var pasted = []struct{ name, takes, label, hint string }{
	{"l1", "l1_db", "Levels in the source room, L1", "Band and level on each line, a column for each position. The bands of the quantity are worked out of these lists, with the background taken off."}, {"l2", "l2_db", "Levels in the receiving room, L2", ""},
	{"li", "li_db", "Impact levels, Li", "For footsteps, in place of L1 and L2."}, {"background", "background_db", "Background in the receiving room", "One column."}, {"t", "t_s", "Reverberation time, T, in s", "One column."},
}

func askTest(v *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A sound test", Form: form{Upload: true, Submit: "Record the test", More: commonFields()},
		Lead: []string{"A limit is a hard line: a shortfall of any size fails. Where the bands are given the program works the value out."}}
	if len(on.j.Targets) > 0 {
		var ts []string
		for _, t := range on.j.Targets {
			ts = append(ts, targetWords(t))
		}
		view.Lead = append(view.Lead, "The job has to reach "+strings.Join(ts, "; ")+".")
	}
	text := func(name, label, hint string) field {
		return field{Kind: "text", Name: name, Label: label, Hint: hint}
	}
	surfaces := field{Kind: "box", Name: "surfaces", Label: "Surfaces between the rooms"}
	surfaces.Options = surfaceCodes(on.j)
	fs := []field{{Kind: "choice", Name: "quantity", Label: "What was measured", Options: quantityOptions()},
		{Kind: "decimal", Name: "value_db", Label: "Value", Unit: "dB", Hint: "May be left empty where the bands are given."},
		{Kind: "area", Name: "bands", Pasted: true, Aside: true, Takes: []string{"bands_db"}, Label: "Its bands", Hint: "Typed, or copied from a spreadsheet: band and value on each line, such as 100 31.2, or 16 values from 100 to 3150 Hz."},
		{Kind: "choice", Name: "decimal", Aside: true, Label: "Comma between digits", Hint: "Only where there is one in what was pasted.", Options: []option{{Value: "", Label: "There is none", Checked: true}, {Value: "comma", Label: "It stands before decimals"}, {Value: "point", Label: "It stands between columns"}}},
		{Kind: "text", Name: "source_room", Label: "Source room", Suggest: testRooms(on.j)}, {Kind: "text", Name: "receiving_room", Label: "Receiving room", Suggest: testRooms(on.j), Value: onlyRoomFaced(on.j)}}
	if len(surfaces.Options) > 0 {
		fs = append(fs, surfaces)
	}
	before := replaceable(v, on.j)
	over := slices.IndexFunc(before, func(t jobs.TestVerdict) bool { return t.Record.ID == cmp.Or(v.c.Query("over"), v.c.FormValue("over")) })
	switch {
	case over >= 0:
		fs = append(fs, replaceField(v, before, before[over]))
	case len(before) > 0: // what it can replace hangs on quantity, rooms and surfaces, which the earlier test gives
		view.Link = step{"It replaces an earlier test: choose that one first", toTests(on)}
	}
	view.Form.Fields = append(fs, text("body", "Who tested", ""), photoField("Of the report."), noteField())
	whole := fold{Says: "The whole measurement, in place of the bands: levels, background, reverberation time"}
	for i, p := range pasted {
		f := field{Kind: "area", Name: p.name, Pasted: true, Aside: true, Takes: []string{"fieldtest." + p.takes}, Label: p.label, Hint: p.hint}
		if i == 0 { // what is wrong with all lists together is said at the first
			f.Takes = append(f.Takes, "fieldtest")
		}
		whole.Fields = append(whole.Fields, f)
	}
	whole.Fields = append(whole.Fields, field{Kind: "decimal", Name: "volume_m3", Aside: true, Takes: []string{"fieldtest.volume_m3"}, Label: "Volume of the receiving room", Unit: "m³"}, field{Kind: "decimal", Name: "area_m2", Aside: true, Takes: []string{"fieldtest.area_m2"}, Label: "Common area", Unit: "m²"})
	view.Form.Folds = []fold{whole, {"Direction, accreditation, number, method, condition", []field{
		{Kind: "select", Name: "direction", Label: "Direction", Options: blank("Not said", options("horizontal", "up", "down"))},
		text("accreditation", "Accreditation", ""), text("test_no", "Number of the test", ""), text("method", "Method", "Standard, with its year."),
		{Kind: "area", Name: "condition", Label: "Condition", Hint: "Doors, furnishing, floor finish."}}}}
	if over >= 0 {
		return view, asBefore(&view.Form, before[over].Test)
	}
	return view, nil
}

// testRooms are the rooms that the job knows, spelled as earlier tests spell theirs first: tests compare only where their rooms are called the same.
func testRooms(j *jobs.Job) []option {
	var os []option
	add := func(room, says string) {
		if room = strings.TrimSpace(room); room != "" && !slices.ContainsFunc(os, func(o option) bool { return strings.EqualFold(o.Value, room) }) {
			os = append(os, option{Value: room, Label: says})
		}
	}
	for _, t := range j.TestVerdicts() {
		add(t.Test.ReceivingRoom, "as in an earlier test")
		add(t.Test.SourceRoom, "as in an earlier test")
	}
	for _, r := range j.Rooms {
		var faced []string
		for _, s := range j.Surfaces {
			if s.Room == r.Code {
				faced = append(faced, s.Code)
			}
		}
		says := ""
		if len(faced) > 0 {
			says = strings.Join(faced, ", ") + " " + map[bool]string{true: "faces it", false: "face it"}[len(faced) == 1]
		}
		add(r.Called(), says)
	}
	return os
}

// onlyRoomFaced is the room that all surfaces face; empty where they face several, or none is named.
func onlyRoomFaced(j *jobs.Job) string {
	only := ""
	for _, s := range j.Surfaces {
		r := j.Room(s.Room)
		if r == nil {
			continue
		}
		if only != "" && only != r.Called() {
			return ""
		}
		only = r.Called()
	}
	return only
}

// asBefore fills in what a test has in common with the one that it replaces.
func asBefore(f *form, t *jobs.SoundTest) error {
	tree, err := treeOf(t)
	if err != nil {
		return err
	}
	for _, name := range []string{"quantity", "source_room", "receiving_room", "surfaces", "body", "direction", "accreditation", "method"} {
		if x := f.field(name); x != nil {
			x.show(tree)
		}
	}
	return nil
}

// replaceable are the tests that this person can take out of force: naming another would change nothing.
func replaceable(v *visit, j *jobs.Job) []jobs.TestVerdict {
	return slices.DeleteFunc(j.TestVerdicts(), func(t jobs.TestVerdict) bool { return !v.who.Author().MayReplace(t.Record) })
}

// replaceField asks which earlier test the new one takes the place of: the one that led here, or another of the same quantity between the same rooms or on the
// same surfaces.
func replaceField(v *visit, before []jobs.TestVerdict, from jobs.TestVerdict) field {
	f := field{Kind: "choice", Name: "over", Label: "This replaces", Hint: "With the reason in the note. Between the same rooms the worse test counts until it is replaced.",
		Options: []option{{Value: "", Label: "No earlier test"}}}
	for _, t := range before {
		same := t.Test.Repeats(from.Test) || slices.ContainsFunc(t.Test.Surfaces, func(code string) bool { return namesSurface(from.Test.Surfaces, code) })
		if t.Test.Quantity == from.Test.Quantity && same {
			f.Options = append(f.Options, option{Value: t.Record.ID, Label: jobs.QuantityName(t.Test.Quantity) + " " + levelOf(t.MeasuredDB) + ", " + v.when(t.Record.DoneAt()),
				Hint: t.Test.SourceRoom + " to " + t.Test.ReceivingRoom + surfacesBetween(t.Test.Surfaces)})
		}
	}
	f.choose(from.Record.ID)
	return f
}

// readTest reads what is not said by one field: the bands, and whether there was anything to test yet.
func readTest(on spot, r *reader) {
	readBands(r)
	if said, _ := r.edge["note"].(string); said == "" && nothingUp(on.j, formValues(r.c, "surfaces")) {
		r.f.complain("surfaces", "No layer is in place there yet. Choose other surfaces, or say in the note why it is tested now.")
	}
}

// nothingUp tells whether no layer of any of these surfaces is in place, of any surface of the job where none is named. A
// test before the work is worth having, but it must say that it is one.
func nothingUp(j *jobs.Job, codes []string) bool {
	return len(j.Surfaces) > 0 && !slices.ContainsFunc(j.Surfaces, func(s *jobs.Surface) bool {
		return (len(codes) == 0 || namesSurface(codes, s.Code)) && slices.ContainsFunc(s.Layers, func(l *jobs.Layer) bool { return l.Share > 0 })
	})
}

// readBands reads what was pasted into the record: the bands of the quantity, or the measurement itself.
func readBands(r *reader) {
	mark := jobs.Decimal(r.c.FormValue("decimal"))
	if s := r.c.FormValue("bands"); strings.TrimSpace(s) != "" {
		c, err := jobs.ParseBands(s, mark)
		if err != nil {
			r.notPasted("bands", err)
			return
		}
		r.edge["bands_db"] = c
	}
	test := map[string]any{}
	for _, p := range pasted {
		s := r.c.FormValue(p.name)
		if strings.TrimSpace(s) == "" {
			continue
		}
		table, err := jobs.ParseLevels(s, mark)
		if err != nil {
			r.notPasted(p.name, err)
			continue
		}
		if have, ok := test["bands_hz"].([]int); ok && !slices.Equal(have, table.BandsHz) {
			r.f.complain(p.name, p.label+" has other bands than the lists above.")
			continue
		}
		test["bands_hz"] = table.BandsHz
		one := len(table.Positions) == 1
		switch p.name {
		case "background", "t":
			test[p.takes] = table.Positions[0]
		default:
			test[p.takes] = table.Positions
		}
		if !one && (p.name == "background" || p.name == "t") {
			r.f.complain(p.name, p.label+": give one column.")
		}
	}
	if len(test) == 0 {
		return
	}
	test["kind"] = "airborne"
	if r.c.FormValue("quantity") == jobs.LnTw {
		test["kind"] = "impact"
	}
	for _, key := range []string{"volume_m3", "area_m2"} {
		if n, ok := r.number(key); ok {
			test[key] = n
		}
	}
	// Numbers go in as they are, through JSON like all others.
	if b, err := json.Marshal(test); err == nil {
		r.edge["fieldtest"] = json.RawMessage(b)
	}
}

// notPasted says what is wrong with what was pasted; a comma that could mean two things is asked about.
func (r *reader) notPasted(name string, err error) {
	if jobs.AsksDecimal(err) {
		r.f.complain("decimal", "Say what the comma between digits means: it stands before decimals, or between columns.")
		return
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		label := name
		if f := r.f.field(name); f != nil {
			label = f.Label
		}
		says := inputSentence(label, in)
		if in.Value != "" && in.Range == "" {
			says = label + ": " + sentence(in.Hint) + " It says " + in.Value + "."
		}
		r.f.complain(name, says)
		return
	}
	r.f.complain(name, sentence(err.Error()))
}

func getTests(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	view := officeView{Where: whereJob(j)}
	verdicts := j.TestVerdicts()
	fails := 0
	for _, t := range verdicts {
		if t.Fails() {
			fails++
		}
		view.Parts = append(view.Parts, testPart(v, j, t))
	}
	switch {
	case len(verdicts) == 0:
		view.Answer = "No sound test is recorded."
	case fails > 0:
		view.Answer = fmt.Sprintf("%d of %s %s.", fails, jobs.Count(len(verdicts), "sound test"), map[bool]string{true: "fails", false: "fail"}[fails == 1])
		view.Lead = []string{jobs.TestFailAdvice}
	default:
		view.Answer = jobs.Capital(jobs.Count(len(verdicts), "sound test")) + ", none fails."
	}
	if (Page{Roles: deciders}).MayOpen(v.who.Role) {
		view.Do = step{"Record a sound test", jobPath(j) + "/test"}
	}
	view.frame = v.frame("Sound tests: " + j.Name)
	return v.show("office", view)
}

// testSentence is the verdict of a test: a hard line, with its margin.
func testSentence(t jobs.TestVerdict) string {
	says := levelOf(t.MeasuredDB) + " " + jobs.QuantityName(t.Test.Quantity) + ": "
	switch {
	case t.Passes == nil:
		return says + "no limit to compare with."
	case *t.Passes:
		return says + fmt.Sprintf("passes, limit %s, margin %s.", levelOf(t.Limit.ValueDB), levelOf(*t.MarginDB))
	}
	return says + fmt.Sprintf("fails, limit %s, short by %s.", levelOf(t.Limit.ValueDB), levelOf(-*t.MarginDB))
}

// surfacesBetween are the surfaces that a test names, or that it names none: then it is held against no prediction.
func surfacesBetween(codes []string) string {
	if len(codes) == 0 {
		return ", no surface named"
	}
	return ", " + strings.Join(codes, ", ")
}

func testPart(v *visit, j *jobs.Job, t jobs.TestVerdict) officePart {
	d := t.Test
	p := officePart{Title: testSentence(t), Anchor: testAnchor(t), Lead: []string{sentence("From " + d.SourceRoom + " to " + d.ReceivingRoom + surfacesBetween(d.Surfaces) + "; by " + d.Body + ", " + v.when(t.Record.DoneAt()))}}
	tab := table{Caption: "All in " + jobs.QuantityName(d.Quantity) + "; ± is one standard uncertainty of the prediction.", Head: []string{"value"}}
	tab.row("Measured", levelOf(t.MeasuredDB))
	if t.Limit != nil {
		tab.row("Limit", levelOf(t.Limit.ValueDB))
	}
	if t.PredictedDB != nil {
		says := predictedOf(*t.PredictedDB)
		if t.UDB != nil {
			says = decimal(*t.PredictedDB, 0) + plusMinus + uncertainty(*t.UDB) + thin + "dB"
		}
		name := "Predicted for " + t.Predicted + ", as specified now"
		if t.Frozen != "" {
			name = "Predicted for " + t.Predicted + ", as quoted"
		}
		tab.row(name, says)
	}
	p.Tables = []table{tab}
	for _, n := range t.Notes {
		p.Says = append(p.Says, sentence(n))
	}
	for _, s := range t.Suspects {
		r := officeRow{Name: strings.TrimSpace(placeOf(s.On) + ": " + s.What), Says: []string{sentence(s.Why)}}
		if sf := j.Surface(s.On.Surface); sf != nil && s.On.Check != "" {
			r.Steps = []step{{"Look at " + s.On.Check, layerPath(j, sf, s.On.Layer, "check/"+s.On.Check)}}
		}
		p.Rows = append(p.Rows, r)
	}
	if cure := t.PutRight; cure != nil && t.Fails() {
		d := cure.What.(*jobs.PutRight)
		p.Lead = append(p.Lead, fmt.Sprintf("Put right by %s, %s. Cause: %s. A new test is wanted: it shows whether that was enough, and replaces this one.", v.name(cure.By), v.when(cure.DoneAt()), jobs.Lower(causes[d.Cause])))
	} else if t.Fails() {
		p.Steps = []step{{"Record it put right", jobPath(j) + "/right/" + t.Record.ID}}
	}
	if (Page{Roles: deciders}).MayOpen(v.who.Role) && v.who.Author().MayReplace(t.Record) {
		p.Steps = append(p.Steps, step{"Record a test that replaces it", jobPath(j) + "/test?over=" + t.Record.ID})
	}
	return p
}

// askPutRight is for what no check found: a test that failed, a complaint.
func askPutRight(v *visit, on spot) (recordView, error) {
	over, err := v.named(on.j, "over")
	if err != nil {
		return recordView{}, err
	}
	view := rightView(v, on.j, &jobs.Surface{}, over)
	view.Where = on.where()
	view.Form.Fields = slices.Insert(view.Form.Fields, 2, field{Kind: "decimal", Name: "cost", Label: "What it cost", Unit: on.j.Currency()})
	return view, nil
}

func overRecord(on spot, r *reader) { r.edge["over"] = on.v.param("over") }
