package pages

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/server/paper"
)

var (
	_ = register(Page{Name: "office", Path: "/jobs/:job/handover", Roles: everybody, Get: getHandover, View: officeView{}, Looks: "complaints and follow-ups of a job"})
	_ = register(Page{Path: "/jobs/:job/pack.pdf", Roles: deciders, Get: getPack, Looks: "the handover pack of a job"})
	_ = registerDeed(deed{path: "/jobs/:job/sign-off", roles: judges, do: "sign_off", ask: askSignOff, to: toHandover})
	_ = registerDeed(deed{path: "/jobs/:job/s/:surface/sign-off", roles: judges, do: "sign_off", ask: askSignOff, edge: onThisSurface})
	_ = registerDeed(deed{path: "/jobs/:job/s/:surface/:layer/sign-off", roles: judges, do: "sign_off", ask: askSignOff, edge: func(on spot, r *reader) { at(r.edge, on.s, on.n()) }})
	_ = registerDeed(deed{path: "/jobs/:job/follow-up/:month", roles: everybody, do: "follow_up", ask: askFollowUp, edge: monthOf, to: toHandover})
	_ = registerDeed(deed{path: "/jobs/:job/complaint", roles: everybody, do: "complaint", ask: askComplaint, to: toHandover})
	_ = registerDeed(deed{path: "/jobs/:job/complaint/:over/again", roles: everybody, do: "complaint", ask: askComplaint, edge: again, to: toHandover})
	_ = registerDeed(deed{path: "/jobs/:job/complaint/:over/outcome", roles: deciders, do: "outcome", ask: askOutcome, edge: overRecord, to: toHandover})
)

func toHandover(on spot) string { return jobPath(on.j) + "/handover" }

// n is the number of the layer, 0 for the whole surface.
func (on spot) n() int {
	if on.layer == nil {
		return 0
	}
	return on.layer.N
}

// missing lists what stands between the work and its handover.
func missing(j *jobs.Job) []officeRow {
	rows := failedTests(j)
	for _, n := range j.NonConformances() {
		if n.Open() {
			rows = append(rows, officeRow{Name: placeOf(n.On) + ": " + n.Title, Says: []string{map[bool]string{true: "Not put right yet.", false: "Put right, not accepted yet."}[n.State == jobs.NCFound]},
				Steps: []step{{"Non-conformances", jobPath(j) + "/non-conformances"}}})
		}
	}
	for _, s := range j.Surfaces {
		if says := notInPlace(s.Layers); says != "" {
			rows = append(rows, officeRow{Name: s.Code + " " + surfaceName(j, s), Says: []string{says}, Steps: []step{{"Open " + s.Code, surfacePath(j, s)}}})
		}
		if stops := j.OpenStops(s); len(stops) > 0 {
			rows = append(rows, officeRow{Name: s.Code + " " + surfaceName(j, s), Says: []string{stopsWords(stops)}, Steps: []step{{"Open " + s.Code, surfacePath(j, s)}}})
		}
	}
	if len(j.Targets) > 0 && len(j.TestVerdicts()) == 0 {
		rows = append(rows, officeRow{Name: "No sound test", Says: []string{"The job has a target and no test is recorded. Where none is done, the pack says so."}, Steps: []step{{"Sound tests", jobPath(j) + "/tests"}}})
	}
	for _, c := range openQuestions(j) {
		rows = append(rows, officeRow{Name: "Question for others: " + jobs.Lower(c.Name), Says: []string{c.Says}, Steps: []step{{"Record an answer about " + jobs.Lower(c.Name), c.Href}}})
	}
	for _, f := range j.Survey().Findings {
		if f.Open {
			rows = append(rows, officeRow{Name: "To be settled: " + spaced(f.Category), Says: []string{sentence(f.Finding)}, Steps: []step{{"Survey", jobPath(j) + "/survey"}}})
		}
	}
	return rows
}

// notInPlace says how much of a list of layers is still to come; nothing where all of it is there.
func notInPlace(layers []*jobs.Layer) string {
	left, begun := 0, 0
	for _, l := range layers {
		if !l.Whole() {
			left++
		}
		if l.Share > 0 {
			begun++
		}
	}
	switch {
	case len(layers) == 0:
		return "Nothing is specified."
	case left == 0:
		return ""
	case begun == 0:
		return "Nothing is in place yet, of " + jobs.Count(len(layers), "layer") + "."
	case left == 1:
		return fmt.Sprintf("1 of %s is not wholly in place.", jobs.Count(len(layers), "layer"))
	}
	return fmt.Sprintf("%d of %s are not wholly in place.", left, jobs.Count(len(layers), "layer"))
}

func getHandover(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	base := jobPath(j)
	decides, judges := (Page{Roles: deciders}).MayOpen(v.who.Role), v.who.Role.Judges()
	rows := missing(j)
	view := officeView{Where: whereJob(j)}
	handed, by := j.HandedOver()
	due := j.Due(v.deps.Now())
	switch {
	case by != nil:
		view.Answer = "Handed over " + v.when(handed) + "."
		if len(rows) > 0 {
			view.Warnings = append(view.Warnings, "It was handed over with "+jobs.Count(len(rows), "thing")+" open, listed below.")
		}
		for _, d := range due {
			if d.State == jobs.DueNow {
				view.Warnings = append(view.Warnings, fmt.Sprintf("The questions after %s are due since %s.", jobs.Count(d.Month, "month"), v.when(d.At)))
			}
		}
	case len(j.Surfaces) == 0:
		view.Answer, view.Do = "This job has no surface yet: there is nothing to hand over.", nextStep(j)
	case len(rows) == 0:
		view.Answer = "Nothing is missing. It may be handed over."
	default:
		view.Answer = jobs.Capital(jobs.Count(len(rows), "thing")) + " to settle before handover."
	}
	if by == nil && len(rows) == 0 && len(j.Surfaces) > 0 {
		view.Do = step{"Client accepts the work", base + "/sign?for=handover"}
	}
	miss := officePart{Title: "What is missing", Empty: "Nothing.", Rows: rows}
	signed := officePart{Title: "Signed off", Empty: "Nothing is signed off."}
	for _, r := range j.Of("sign_off") {
		d := r.What.(*jobs.SignOff)
		where := placeOf(r.On)
		if where == "" {
			where = "The whole job"
		}
		row := officeRow{Name: where, Says: []string{"By " + cmp.Or(d.Name, v.name(r.By)) + ", " + v.when(r.DoneAt()) + "."}}
		if n := len(d.NotSeen); n > 0 {
			row.Mark = sentence(jobs.Count(n, "thing") + " nobody saw: " + strings.Join(d.NotSeen, "; "))
		}
		signed.Rows = append(signed.Rows, row)
	}
	if judges {
		signed.Steps = []step{{"Sign off the job", base + "/sign-off"}}
		for _, s := range j.Surfaces {
			signed.Steps = append(signed.Steps, step{"Sign off " + s.Code, surfacePath(j, s) + "/sign-off"})
		}
	}
	client := officePart{Title: "The client", Empty: "Has not signed.", Steps: []step{{"Client accepts or declines", base + "/sign?for=handover"}}}
	for _, x := range j.Survey().Signed {
		client.Says = append(client.Says, sentence(x.What)+" "+jobs.Capital(x.Statement)+" by "+x.Name+", "+x.Role+", "+v.stamp(x.At)+".")
	}
	if decides {
		client.Steps = append(client.Steps, step{"Handover pack, PDF", base + "/pack.pdf"})
		if v.deps.Whole != nil {
			client.Steps = append(client.Steps, step{"Timeline for a dispute, PDF", base + "/timeline.pdf"}, step{"Dispute file with photos", base + "/dispute.zip"})
		}
	}
	view.Parts = []officePart{miss, signed, client, followUpPart(v, j, due), jobComplaints(j, decides)}
	if seen := j.NotSeen("", 0); len(seen) > 0 {
		p := officePart{Title: "What nobody saw", Closed: true}
		for _, s := range seen {
			p.Says = append(p.Says, sentence(s))
		}
		view.Parts = append(view.Parts, p)
	}
	view.frame = v.frame("Handover: " + j.Name)
	return v.show("office", view)
}

var dueWords = map[jobs.DueState]string{jobs.DueAhead: "ahead", jobs.DueNow: "due", jobs.DueAnswered: "answered", jobs.DueNoReply: "no reply: what it is like stays unknown"}

func followUpPart(v *visit, j *jobs.Job, due []jobs.Due) officePart {
	p := officePart{Title: "Asked again after 1, 3 and 12 months", Empty: "It begins with the handover."}
	for _, d := range due {
		r := officeRow{Name: fmt.Sprintf("After %s, %s", jobs.Count(d.Month, "month"), v.when(d.At)), Says: []string{jobs.Capital(dueWords[d.State]) + "."},
			Steps: []step{{fmt.Sprintf("Record what they say after %s", jobs.Count(d.Month, "month")), fmt.Sprintf("%s/follow-up/%d", jobPath(j), d.Month)}}}
		if d.State == jobs.DueNow && d.DaysLate > 0 {
			r.Mark = jobs.Count(d.DaysLate, "day") + " late."
		}
		if d.Record != nil {
			r.Says = append(r.Says, sentence(j.Says(d.Record)))
		}
		p.Rows = append(p.Rows, r)
	}
	if answers := answersOver(j); answers.Rows != nil {
		p.Tables = []table{answers}
	}
	return p
}

// answersOver puts what was said before and after beside each other.
func answersOver(j *jobs.Job) table {
	columns, all := []string{"before"}, []*jobs.Answers{j.Survey().Baseline}
	for _, month := range jobs.FollowUpMonths {
		for _, r := range j.Of("follow_up") {
			if d := r.What.(*jobs.FollowUp); d.Month == month && !d.OtherSide {
				columns, all = append(columns, jobs.Count(month, "month")), append(all, d.Answers)
			}
		}
	}
	if len(all) == 1 {
		return table{}
	}
	return ratingTable("0 is nothing heard, 10 the worst, as the client says.", columns, all...)
}

func jobComplaints(j *jobs.Job, decides bool) officePart {
	p := officePart{Title: "Complaints", Empty: "None was recorded.", Steps: []step{{"Record a complaint", jobPath(j) + "/complaint"}}}
	for _, c := range j.Complaints() {
		at := jobPath(j) + "/complaint/" + c.Record.ID
		r := officeRow{Name: strings.TrimSpace(c.Record.On.Surface + " “" + c.Complaint.Words + "”"), Says: []string{sentence(c.Complaint.Kind + ", received " + dayWords(c.Complaint.Received)), sentence(c.Says())}}
		if c.State != jobs.ComplaintClosed {
			if r.Mark = "Open."; c.State == jobs.ComplaintOpen && !c.Disputed {
				r.Says = r.Says[:1] // the mark says it
			}
			if decides {
				r.Steps = append(r.Steps, step{"Record how it ended", at + "/outcome"})
			}
			r.Steps = append(r.Steps, step{"Record it put right", jobPath(j) + "/right/" + c.Record.ID})
		} else {
			r.Steps = append(r.Steps, step{"It is complained of again", at + "/again"})
			if decides {
				r.Steps = append(r.Steps, step{"Another outcome in its place", at + "/outcome"})
			}
		}
		var took []string
		if c.Hours > 0 {
			took = append(took, "took "+withUnit(decimal(c.Hours, 1), "h"))
		}
		if c.Cost > 0 {
			took = append(took, "cost "+money(c.Cost, j.Currency()))
		}
		if len(took) > 0 {
			r.Says = append(r.Says, "It "+strings.Join(took, " and ")+".")
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}

func getPack(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	opt := v.packOptions(j)
	return v.long(j, jobPath(j)+"/handover", func(ctx context.Context, photo photoOf) ([]byte, error) {
		opt := opt
		opt.Photo = func(h jobs.Hash) []byte {
			data, err := photo(ctx, h)
			if err != nil {
				return nil // its frame stays empty: the picture has not come yet
			}
			return data
		}
		var b bytes.Buffer
		if err := paper.WritePack(&b, Pack(j, opt)); err != nil {
			return nil, err
		}
		return b.Bytes(), ctx.Err()
	}, func(data []byte) error {
		return v.pdf("handover "+j.Name, func(w io.Writer) error { _, err := w.Write(data); return err })
	})
}

// packOptions are what a pack shows beside the job: names, and the photos that are here.
func (v *visit) packOptions(j *jobs.Job) PackOptions {
	names := map[string]string{}
	for _, r := range j.Records {
		names[r.By] = v.name(r.By)
	}
	photo := func(h jobs.Hash) []byte {
		data, err := v.deps.Record.Photo(v.ctx, v.who.Company, j.ID, h)
		if err != nil {
			return nil // its frame stays empty: the picture has not come yet
		}
		return data
	}
	return PackOptions{Firm: v.who.Firm, Contact: v.who.Name, Host: v.deps.SheetHost, Printed: v.deps.Now(), Zone: v.deps.Zone, Names: names, Photo: photo}
}

func askSignOff(v *visit, on spot) (recordView, error) {
	view := recordView{Answer: "Sign off the whole job", Form: form{Upload: true, Submit: "Sign off", More: commonFields()}}
	surface := ""
	if on.s != nil {
		surface, view.Answer = on.s.Code, "Sign off "+on.s.Code+onLayer(on.n())
	}
	unseen := on.j.NotSeen(surface, on.n())
	if len(unseen) > 0 {
		view.Stops = stopLines(jobs.Capital(jobs.Count(len(unseen), "thing")) + " nobody saw. The sign-off says so:")
		for _, u := range unseen {
			view.Lead = append(view.Lead, sentence(u))
		}
	} else {
		view.Lead = []string{"Nothing is recorded as unseen."}
	}
	for _, c := range on.j.OpenCautions() {
		if surface == "" || c.Surface == surface {
			view.Asked = append(view.Asked, pair{jobs.Capital(c.Code) + ", " + c.Surface + ": open", c.Asks + " It is for " + c.Who + "."})
		}
	}
	view.Form.Fields = []field{{Kind: "text", Name: "name", Label: "Name, as it is printed", Value: v.who.Name},
		{Kind: "area", Name: "not_seen", Rows: "texts", Label: "What else was not seen", Hint: "One thing a line. What the record knows is added by itself."}, photoField(""), noteField()}
	if on.n() > 0 {
		return view, nil // no test is about one layer
	}
	way := inTheWay{Stops: failedStops(on.j, surface)}
	view.Stops = slices.Concat(way.Stops, view.Stops)
	way.ask(&view.Form, "Say why it is signed off all the same.")
	return view, nil
}

// failedStops say which sound tests of a surface, or of the whole job, failed.
func failedStops(j *jobs.Job, surface string) []stopLine {
	var lines []stopLine
	for _, t := range j.FailedTestsOn(surface) {
		m := measured(j, t)
		lines = append(lines, stopLine{m.Link + ". " + sentence(m.Says), m.Href})
	}
	return lines
}

func askFollowUp(v *visit, on spot) (recordView, error) {
	month := v.param("month")
	if month != "1" && month != "3" && month != "12" {
		return recordView{}, jobs.ErrNotFound
	}
	view := recordView{Answer: "What they say after " + month + " months", Lead: []string{"The same questions as before the work. No reply is recorded as no reply."},
		Form: form{Submit: "Record the answers", More: commonFields()}}
	if month == "1" {
		view.Answer = "What they say after 1 month"
	}
	view.Form.Fields = append(ratingFields(), field{Kind: "text", Name: "room", Label: "Room in which it is heard"},
		field{Kind: "box", Name: "when", Label: "When", Options: options("day", "evening", "night")},
		field{Kind: "choice", Name: "compared", Label: "Compared with before the work", Options: options("better", "same", "worse")},
		field{Kind: "text", Name: "new_sounds", Label: "New sounds"}, field{Kind: "text", Name: "changes", Label: "What changed since", Hint: "Neighbour, floor finish, holes cut, heating."},
		field{Kind: "choice", Name: "recommend", Label: "Would they recommend it", Options: []option{{Value: "yes", Label: "Yes"}, {Value: "no", Label: "No"}, {Value: "not_sure", Label: "Not sure"}}},
		field{Kind: "box", Name: "other_side", Label: "Other side", Options: []option{{Value: "true", Label: "Asked on the other side of the partition"}}}, noteField())
	return view, nil
}

func monthOf(on spot, r *reader) {
	r.edge["month"] = map[string]int{"1": 1, "3": 3, "12": 12}[on.v.param("month")]
	noReply(on, r)
}

func askComplaint(v *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A complaint", Lead: []string{"In their own words. A recording made with a phone is no evidence of a level."}, Form: form{Upload: true, Submit: "Record the complaint", More: commonFields()}}
	kind := field{Kind: "select", Name: "kind", Label: "Kind of noise", Options: blank("Choose", nil)}
	for _, n := range jobs.NoiseKinds() {
		kind.Options = append(kind.Options, option{Value: n.Code, Label: jobs.Capital(n.Heard)})
	}
	if id := v.param("over"); id != "" {
		before, err := v.named(on.j, "over")
		if err != nil {
			return view, err
		}
		view.Answer, view.BeforeTitle, view.Before = "Complained of again", "The complaint before", v.recordLines(on.j, []*jobs.Record{before}, v.states(on.j))
	}
	received := dateField("received", "Received", "")
	received.Value = v.deps.Now().In(v.deps.Zone).Format(time.DateOnly)
	view.Form.Fields = []field{{Kind: "area", Name: "words", Label: "Their words"}, kind,
		received,
		surfaceSelect(on.j, "surface", "Surface", "Not known"), {Kind: "text", Name: "from", Label: "Who complains"},
		{Kind: "select", Name: "how", Label: "How it came", Options: blank("Not said", options(jobs.ComplaintWays()...))}, {Kind: "area", Name: "times", Label: "When it is heard"},
		{Kind: "decimal", Name: "severity", Label: "How bad, as they say", Unit: "of 10", Hint: "0 nothing, 10 the worst."},
		{Kind: "box", Name: "vulnerable", Label: "Somebody vulnerable", Options: []option{{Value: "true", Label: "Somebody there is vulnerable"}}},
		{Kind: "text", Name: "stage", Label: "Stage of a formal procedure"}, momentField("answer_by", "To be answered by", ""), photoField(""), noteField()}
	return view, nil
}

func again(on spot, r *reader) { r.edge["again"] = on.v.param("over") }

func askOutcome(v *visit, on spot) (recordView, error) {
	c, err := v.named(on.j, "over")
	if err != nil {
		return recordView{}, err
	}
	view := recordView{Answer: "How the complaint ended", BeforeTitle: "The complaint", Before: v.recordLines(on.j, []*jobs.Record{c}, v.states(on.j)), Form: form{Upload: true, Submit: "Record the outcome", More: commonFields()}}
	view.Form.Fields = []field{{Kind: "choice", Name: "outcome", Label: "Outcome", Options: wordOptions(jobs.OutcomeWords())}, {Kind: "choice", Name: "cause", Label: "Cause", Options: wordOptions(jobs.OutcomeCauses())},
		{Kind: "choice", Name: "confidence", Label: "How sure the cause is", Options: wordOptions(jobs.OutcomeConfidences())}, {Kind: "area", Name: "found", Label: "What was found"},
		{Kind: "area", Name: "action", Label: "What was done"}, {Kind: "decimal", Name: "cost", Label: "What it cost", Unit: on.j.Currency()},
		{Kind: "choice", Name: "closed_by", Label: "Why it counts as closed", Options: append([]option{{Value: "", Label: "Not said", Checked: true}}, wordOptions(jobs.ClosedBy())...)}, photoField(""), noteField()}
	return view, nil
}
