package pages

import (
	"fmt"
	"strings"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "office", Path: "/jobs/:job/survey", Roles: everybody, Get: getSurvey, View: officeView{}, Looks: "who asked for a job, and what they said"})
	_ = registerDeed(deed{path: "/jobs/:job/enquiry", roles: everybody, do: "enquiry", ask: askEnquiry, base: enquiryBase, to: toSurvey})
	_ = registerDeed(deed{path: "/jobs/:job/baseline", roles: everybody, do: "baseline", ask: askBaseline, edge: noReply, to: toSurvey})
	_ = registerDeed(deed{path: "/jobs/:job/finding", roles: everybody, do: "survey", ask: askFinding, to: toSurvey})
	_ = registerDeed(deed{path: "/jobs/:job/s/:surface/flanking", roles: everybody, do: "flanking", ask: askFlanking, edge: onThisSurface, to: toSurvey})
	_ = registerDeed(deed{path: "/jobs/:job/sign", roles: everybody, do: "sign", ask: askSign, to: toHandover})
	_ = registerDeed(deed{path: "/jobs/:job/s/:surface/sign", roles: everybody, do: "sign", ask: askSign, edge: onThisSurface, to: toSurvey})
)

func toSurvey(on spot) string { return jobPath(on.j) + "/survey" }

func onThisSurface(on spot, r *reader) { at(r.edge, on.s, 0) }

// knownOptions say how a finding is known.
var knownOptions = []option{{Value: "seen", Label: "Seen"}, {Value: "drilled", Label: "Drilled or opened"}, {Value: "drawn", Label: "From a drawing"}, {Value: "guessed", Label: "Guessed", Hint: "It goes as an assumption into quote and prediction."}}

func enquiryBase(on spot) (any, error) {
	if e := on.j.Enquiry(); e != nil {
		tree, err := treeOf(e)
		if err != nil {
			return nil, err
		}
		for _, key := range append([]string{"do", "note", "over"}, commonNames...) {
			delete(tree, key)
		}
		return tree, nil
	}
	return nil, nil
}

func askEnquiry(_ *visit, _ spot) (recordView, error) {
	view := recordView{Answer: "Who asks, and what they hear", Form: form{Submit: "Record the enquiry", More: commonFields()}}
	var cannot, heard []option
	for _, c := range jobs.CannotPromise() {
		cannot = append(cannot, option{Value: c, Label: jobs.Capital(c)})
	}
	for _, n := range jobs.NoiseKinds() {
		heard = append(heard, option{Value: n.Code, Label: jobs.Capital(n.Heard), Hint: jobs.Capital(n.Kind) + ", usually by " + n.By + ". Helps: " + n.Helps + ". Does not help: " + n.Not + "."})
	}
	consent := blank("Not asked", []option{{Value: "yes", Label: "Yes"}, {Value: "no", Label: "No"}, {Value: "not_needed", Label: "Not needed"}, {Value: "unknown", Label: "Nobody knows yet"}})
	text := func(name, label, hint string) field {
		return field{Kind: "text", Name: name, Label: label, Hint: hint}
	}
	view.Form.Fields = []field{{Kind: "choice", Name: "asks", Label: "Who asks", Options: options(jobs.Askers()...)}, text("name", "Name", ""),
		{Kind: "area", Name: "words", Label: "In their own words", Hint: "Theirs, not ours."},
		{Kind: "box", Name: "heard", Label: "What they hear", Options: heard},
		{Kind: "area", Name: "rooms", Rows: "texts", Label: "Where it is heard", Hint: "One room a line, as they call it."},
		{Kind: "box", Name: "cannot_promise", Label: "Told at once: this can't be promised", Options: cannot},
		{Kind: "decimal", Name: "built_year", Label: "Year of building", Hint: "Up to the year 2000 there may be asbestos."}, noteField()}
	view.Form.Folds = []fold{
		{"When, how often, since when, and what was tried", []field{text("when", "When", ""), text("how_often", "How often", ""), text("since", "Since", ""), text("tried", "What was tried", ""),
			text("told_to", "Told to", "Council, landlord, anybody."), text("fixed", "What “fixed” would sound like to them", "")}},
		{"Owner, consent, deadline, budget, who requires a test", []field{text("owner", "Owner of the structure", ""),
			{Kind: "select", Name: "lease_consent", Label: "Consent under the lease", Options: consent}, {Kind: "select", Name: "listed", Label: "Listed building or conservation area", Options: consent},
			text("deadline", "Deadline", ""), text("budget", "Budget", ""), text("test_required_by", "Who requires a test", "")}}}
	return view, nil
}

// ratingFields ask for each kind of noise from 0 to 10.
func ratingFields() []field {
	fs := []field{{Kind: "box", Name: "no_reply", Aside: true, Label: "No reply", Options: []option{{Value: "true", Label: "They were asked and did not reply"}}},
		{Kind: "head", Label: "From 0, nothing heard, to 10, the worst", Hint: "Leave empty what was not asked."}}
	for _, n := range jobs.NoiseKinds() {
		fs = append(fs, field{Kind: "decimal", Name: "answers." + n.Code, Label: jobs.Capital(n.Heard), Unit: "of 10"})
	}
	return fs
}

// noReply records that nobody replied; nothing else is concluded from it.
func noReply(_ spot, r *reader) {
	if r.c.FormValue("no_reply") != "true" {
		return
	}
	if r.edge["answers"] != nil {
		r.f.complain("no_reply", "Either they did not reply, or they gave these numbers.")
	}
	r.edge["answers"] = "no_reply"
}

func askBaseline(_ *visit, on spot) (recordView, error) {
	view := recordView{Answer: "How loud it is before the work", Lead: []string{"The client rates each kind of noise. How it was before is never collectable later."},
		Form: form{Submit: "Record the baseline", Fields: append(ratingFields(), noteField()), More: commonFields()}}
	if len(on.j.Of("install")) > 0 {
		view.Stops = stopLines("Work has begun: what is answered now does not say how it was before. It is recorded with its date.")
	}
	return view, nil
}

func askFinding(v *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A finding of the survey", Form: form{Upload: true, Submit: "Record the finding", More: commonFields()}}
	rooms := field{Kind: "select", Name: "room", Label: "Room", Options: []option{{Value: "", Label: "No room in particular"}}}
	for _, r := range on.j.Rooms {
		rooms.Options = append(rooms.Options, option{Value: r.Code, Label: r.Called()})
	}
	structures := field{Kind: "select", Name: "structure", Label: "Structure", Options: []option{{Value: "", Label: "None in particular"}}}
	for _, st := range on.j.Structures {
		structures.Options = append(structures.Options, option{Value: st.Code, Label: st.Called()})
	}
	category := field{Kind: "select", Name: "category", Label: "What it is about", Options: blank("Not said", options(jobs.FindingCategories()...))}
	category.choose(v.c.Query("about"))
	view.Form.Fields = []field{category, {Kind: "area", Name: "finding", Label: "What was found"}, {Kind: "choice", Name: "known", Label: "How it is known", Options: knownOptions},
		surfaceSelect(on.j, "surface", "Surface", "None in particular"), {Kind: "text", Name: "place", Label: "Where exactly"},
		{Kind: "text", Name: "who", Label: "Who has to act, decide or agree"}, {Kind: "box", Name: "settled", Label: "Settled", Options: []option{{Value: "true", Label: "Nothing is left to do or to agree"}}},
		photoField(""), noteField()}
	view.Form.Folds = []fold{{"Room or structure, quick test, boxes, year of building, doubt in dB", []field{rooms, structures,
		{Kind: "select", Name: "test", Label: "Found by", Options: blank("No quick test", options(jobs.QuickTests()...)), Hint: "A level read off a phone is an indication, never a result."},
		{Kind: "decimal", Name: "boxes", Label: "Socket and switch boxes", Hint: "Each needs a pad."}, {Kind: "decimal", Name: "built_year", Label: "Year of building of this part"},
		{Kind: "decimal", Name: "spread_db", Label: "How far off a prediction may be by it", Unit: "dB", Hint: "Only where it was not seen. Left empty: 2 dB for what is guessed of the construction, 1 dB for what is drawn; our own figures."}}}}
	return view, nil
}

func askFlanking(v *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A way round " + on.s.Code, Form: form{Upload: true, Submit: "Record the decision", More: commonFields()}}
	ways := field{Kind: "select", Name: "path", Label: "Which way", Options: blank("Choose", nil)}
	for _, w := range jobs.FlankingWays() {
		ways.Options = append(ways.Options, option{Value: w.Code, Label: jobs.Capital(w.Name), Checked: w.Code == v.c.Query("path")})
	}
	view.Form.Fields = []field{ways, {Kind: "choice", Name: "decision", Label: "What is done about it", Options: []option{{Value: jobs.FlankTreat, Label: "It is treated"}, {Value: jobs.FlankLeave, Label: "It is left"},
		{Value: jobs.FlankTellClient, Label: "The client is told", Hint: "They accept or decline it with their name."}, {Value: jobs.FlankNotSeen, Label: "It could not be seen"}}},
		surfaceSelect(on.j, "treated_by", "Treated by the work on", "No surface"),
		{Kind: "box", Name: "heard", Label: "Heard", Options: []option{{Value: "true", Label: "Sound was heard coming this way"}}}, photoField(""), noteField()}
	return view, nil
}

func askSign(v *visit, on spot) (recordView, error) {
	view := recordView{Answer: "Signed by somebody without an account", Form: form{Upload: true, Submit: "Record the signature", More: commonFields()},
		Lead: []string{"Read it out, or let them read it. Their name is typed, drawn with a finger or signed on paper; of the last two a picture is kept."}}
	fs := []field{{Kind: "area", Name: "what", Label: "What it is about"}}
	if on.s != nil {
		ways := field{Kind: "select", Name: "flanking", Label: "The way round that is meant", Options: blank("None", nil)}
		path := v.c.Query("path")
		for _, w := range jobs.FlankingWays() {
			ways.Options = append(ways.Options, option{Value: w.Code, Label: jobs.Capital(w.Name), Checked: w.Code == path})
			if w.Code == path {
				fs[0].Value = fmt.Sprintf("Sound that goes round %s by the %s: told, and what it may leave.", on.s.Code, w.Name)
			}
		}
		fs = append([]field{ways}, fs...)
	} else {
		view.Stops = failedStops(on.j, "")
		if v.c.Query("for") == "handover" {
			fs[0].Value = "The work of the whole job, as shown in the handover pack."
		}
	}
	picture := photoField("Of a signature drawn or on paper.")
	picture.Pen = true
	view.Form.Fields = append(fs, field{Kind: "choice", Name: "statement", Label: "They", Options: []option{{Value: "accepted", Label: "Accept it"}, {Value: "declined", Label: "Decline it"}}},
		field{Kind: "text", Name: "name", Label: "Name"}, field{Kind: "text", Name: "role", Label: "As what", Hint: "Such as client, owner, managing agent."},
		field{Kind: "choice", Name: "means", Label: "How", Options: []option{{Value: "typed", Label: "Name typed here", Checked: true}, {Value: "finger", Label: "Finger on the screen"}, {Value: "paper", Label: "On paper, as a photo"}}},
		picture, noteField())
	return view, nil
}

// getSurvey shows what is known before the work, what is missing loudest.
func getSurvey(v *visit) error {
	on, err := v.spot()
	if err != nil {
		return err
	}
	j, s := on.j, on.j.Survey()
	base := jobPath(j)
	view := officeView{Where: on.where(), Answer: surveyAnswer(s)}
	for _, w := range j.Warnings {
		if strings.HasPrefix(w, "NO BASELINE") || strings.HasPrefix(w, "no baseline") {
			view.Stops = append(view.Stops, sentence(w))
		} else {
			view.Warnings = append(view.Warnings, sentence(w))
		}
	}
	if s.Baseline == nil && len(view.Stops) == 0 {
		view.Stops = []string{"No baseline: before work starts, have the client rate each kind of noise from 0 to 10. It is never collectable later."}
	}
	if s.Baseline == nil {
		view.Do = step{"Record the baseline", base + "/baseline"}
	}
	view.Parts = []officePart{enquiryPart(base, s.Enquiry), baselinePart(base, s.Baseline), v.findingsPart(base, s.Findings)}
	for _, sf := range j.Surfaces {
		view.Parts = append(view.Parts, flankingPart(j, sf))
	}
	signed := officePart{Title: "Signed", Steps: []step{{"Record a signature", base + "/sign"}}}
	for _, x := range s.Signed {
		signed.Says = append(signed.Says, sentence(strings.TrimSpace(x.Surface+" "+x.What))+" "+jobs.Capital(x.Statement)+" by "+x.Name+", "+x.Role+", "+v.stamp(x.At)+".")
	}
	view.Parts = append(view.Parts, signed)
	view.frame = v.frame("Survey: " + j.Name)
	return v.show("office", view)
}

func surveyAnswer(s jobs.SurveyView) string {
	open, assumed := 0, 0
	for _, f := range s.Findings {
		if f.Open {
			open++
		}
		if f.Assumed {
			assumed++
		}
	}
	if s.Enquiry == nil && len(s.Findings) == 0 {
		return "Nothing is recorded from before the work."
	}
	if len(s.Findings) == 0 {
		return "No finding is recorded yet."
	}
	says := jobs.Capital(jobs.Count(len(s.Findings), "finding"))
	if assumed > 0 {
		says += fmt.Sprintf(", %d assumed", assumed)
	}
	if open > 0 {
		return says + fmt.Sprintf(", %d still to be settled.", open)
	}
	return says + ", none left to settle."
}

func enquiryPart(base string, e *jobs.Enquiry) officePart {
	p := officePart{Title: "Enquiry", Empty: "Nobody's words are recorded.", Steps: []step{{"Record the enquiry", base + "/enquiry"}, {"Print the survey sheet", base + "/survey.pdf"}}}
	if e == nil {
		return p
	}
	p.Steps[0].Text = "Record it anew"
	p.Quote = e.Words
	add := func(name, says string) {
		if says != "" {
			p.Asked = append(p.Asked, pair{name, says})
		}
	}
	add("Asked by", strings.TrimSpace(jobs.Capital(spaced(e.Asks))+" "+e.Name))
	var heard []string
	for _, h := range e.Heard {
		for _, n := range jobs.NoiseKinds() {
			if n.Code == h {
				heard = append(heard, n.Heard)
			}
		}
	}
	add("Heard", jobs.Capital(strings.Join(heard, "; ")))
	add("Where", strings.Join(e.Rooms, ", "))
	add("When", strings.TrimSpace(strings.Join([]string{e.When, e.HowOften, e.Since}, " ")))
	add("Tried", e.Tried)
	add("Fixed would be", e.Fixed)
	add("Told that it can't be promised", jobs.Capital(strings.Join(e.CannotPromise, "; ")))
	add("Owner of the structure", e.Owner)
	if e.LeaseConsent != "" {
		add("Consent under the lease", jobs.Capital(spaced(e.LeaseConsent)))
	}
	if e.Listed != "" {
		add("Listed or conservation area", jobs.Capital(spaced(e.Listed)))
	}
	if e.BuiltYear > 0 {
		add("Built", itoa(e.BuiltYear))
	}
	add("Deadline", e.Deadline)
	add("Budget", e.Budget)
	add("Test required by", e.TestRequiredBy)
	return p
}

// ratingTable has answers by kind of noise, beside each other.
func ratingTable(caption string, columns []string, answers ...*jobs.Answers) table {
	t := table{Caption: caption, Head: columns}
	for _, n := range jobs.NoiseKinds() {
		var cells []string
		any := false
		for _, a := range answers {
			says := "not asked"
			if a != nil && a.NoReply {
				says = "no reply"
			} else if x := a.Rated(n.Code); x != nil {
				says, any = decimal(*x, 1)+" of 10", true
			}
			cells = append(cells, says)
		}
		if any || len(answers) == 1 {
			t.row(jobs.Capital(n.Heard), cells...)
		}
	}
	return t
}

func baselinePart(base string, a *jobs.Answers) officePart {
	p := officePart{Title: "Baseline, before the work", Empty: "Nobody was asked.", Steps: []step{{"Record the baseline", base + "/baseline"}}}
	if a != nil {
		p.Steps[0].Text = "Record it again"
		p.Tables = []table{ratingTable("0 is nothing heard, 10 the worst, as the client says.", []string{"before"}, a)}
	}
	return p
}

func (v *visit) findingsPart(base string, fs []jobs.FindingView) officePart {
	p := officePart{Title: "Findings", Empty: "Nothing was found yet.", Steps: []step{{"Record a finding", base + "/finding"}, {"A hazard", base + "/finding?about=hazard"}, {"A service", base + "/finding?about=service"},
		{"A limit", base + "/finding?about=limit"}, {"An agreement", base + "/finding?about=agreement"}}}
	for _, f := range fs {
		r := officeRow{Name: strings.TrimSpace(strings.Join([]string{f.Surface, f.Room, f.Structure, f.Place}, " ")), Says: []string{sentence(f.Finding)}}
		if r.Name == "" {
			r.Name = "The job"
		}
		if f.Category != "" {
			r.Name += ": " + spaced(f.Category)
		}
		for _, o := range knownOptions {
			if o.Value == f.Known {
				r.Says = append(r.Says, o.Label+".")
			}
		}
		if f.Test != "" {
			r.Says[len(r.Says)-1] = strings.TrimSuffix(r.Says[len(r.Says)-1], ".") + ", by " + spaced(f.Test) + "."
		}
		if f.Open {
			r.Mark = sentence("Still to be settled" + map[bool]string{true: "", false: " by " + f.Who}[f.Who == ""])
		} else if f.Assumed {
			r.Mark = "An assumption: it goes into quote and prediction."
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}

func flankingPart(j *jobs.Job, s *jobs.Surface) officePart {
	p := officePart{Title: "Ways round " + s.Code, Closed: true}
	for _, f := range j.FlankingList(s) {
		r := officeRow{Name: jobs.Capital(f.Name), Says: []string{jobs.Capital(spaced(f.State)) + "."}, Steps: []step{{"Decide on the " + f.Name, surfacePath(j, s) + "/flanking?path=" + f.Path}}}
		if f.TreatedBy != "" {
			r.Says[0] = sentence("Treated by the work on " + f.TreatedBy)
		}
		if f.Heard {
			r.Says = append(r.Says, "Heard coming this way.")
		}
		if f.By != "" {
			r.Says = append(r.Says, sentence("Signed by "+f.By))
		}
		if f.Note != "" {
			r.Says = append(r.Says, sentence(f.Note))
		}
		if f.State == jobs.FlankToTell {
			r.Mark = "The client has not signed yet."
			r.Steps = append(r.Steps, step{"Client accepts or declines the " + f.Name, surfacePath(j, s) + "/sign?path=" + f.Path})
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}
