package pages

import (
	"fmt"
	"net/url"
	"strings"

	"tacet/jobs"
	"tacet/jobs/outcomes"
)

var (
	_ = register(Page{Name: "family", Path: "/outcomes/:family", Firm: true, Roles: deciders, Get: getFamily, View: familyView{}})
	_ = register(Page{Path: "/outcomes/:family/chart/:chart/:width", Firm: true, Roles: deciders, Get: getFamilyChart})
	_ = register(Page{Name: "record", Path: "/outcomes/:family/review", Firm: true, Roles: deciders, Get: getFamilyReview, Post: postFamilyReview, View: recordView{}})
)

// familyView is one family of build-ups with its jobs.
type familyView struct {
	frame
	Where  []crumb
	Answer string
	Words  string
	Review []string // the mark, and what the rule says
	Chart  chartView
	Said   []string
	Jobs   []familyJob // the last, as many as the review rule looks at
	Older  []familyJob
	Do     step
	Parts  []outcomePart
	Notes  []string
}

type familyJob struct{ Href, Name, Says string }

// mostJobs keeps the page light; the CSV has all.
const mostJobs = 100

func (v *visit) family() (outcomes.FamilySummary, error) {
	s, err := v.outcomes()
	if err != nil {
		return outcomes.FamilySummary{}, err
	}
	for _, f := range s.Families {
		if strings.EqualFold(f.Code, v.param("family")) {
			return f, nil
		}
	}
	return outcomes.FamilySummary{}, jobs.ErrNotFound
}

func getFamily(v *visit) error {
	f, err := v.family()
	if err != nil {
		return err
	}
	href := "/outcomes/" + url.PathEscape(f.Code)
	view := familyView{Where: []crumb{{"Outcomes", "/outcomes"}, {jobs.Capital(f.Words), ""}}, Answer: familyAnswer(f), Words: "Code " + f.Code + ".", Said: f.Findings,
		Do: step{"Mark for review", href + "/review"}}
	for _, r := range f.Review.Rule {
		view.Review = append(view.Review, sentence(r))
	}
	if f.Review.Marked {
		view.Review = append([]string{"Marked for review: " + f.Review.Reason}, view.Review...)
		view.Do.Text = "Clear the mark"
	}
	chart := func(name string) chartView {
		return chartView{href + "/chart/" + name, titleOf(familyCharts[name](f))}
	}
	if mostTested(f) != nil {
		view.Chart = chart("measured")
		view.Parts = append(view.Parts, differencePart(f, chart("time"), chart("residual"), chart("normal")))
	}
	view.Parts = append(view.Parts, complaintsPart(f, chart))
	for _, l := range f.List() {
		if len(view.Jobs)+len(view.Older) == mostJobs {
			view.Notes = append(view.Notes, fmt.Sprintf("The last %d of %d jobs are listed.", mostJobs, f.Jobs))
			break
		}
		job := familyJob{Href: "/jobs/" + l.Job, Name: l.Name, Says: "end of the work not recorded, " + l.After}
		if l.Finished != nil {
			job.Says = "finished " + l.Finished.In(v.deps.Zone).Format("2 Jan 2006") + ", " + l.After
		}
		if len(view.Jobs) < outcomes.ReviewWindow {
			view.Jobs = append(view.Jobs, job)
			continue
		}
		view.Older = append(view.Older, job)
	}
	view.frame = v.frame(jobs.Capital(f.Words))
	return v.show("family", view)
}

// familyAnswer is the difference where it can be said, else the complaints.
func familyAnswer(f outcomes.FamilySummary) string {
	if d := mostTested(f); d != nil && d.Own.N >= outcomes.FewestForRate {
		return sentence(differenceSentence(*d))
	}
	return sentence(rateSentence(f.Complaints))
}

func differencePart(f outcomes.FamilySummary, charts ...chartView) outcomePart {
	p := outcomePart{Title: "Predicted against measured, job by job", Charts: charts}
	for _, d := range f.Differences {
		t := table{Caption: jobs.QuantityName(d.Quantity) + ". One line to a job, the last 100; means where it was tested more than once.", Head: []string{"predicted", "±", "measured", "difference", "frozen in a quote"}}
		for _, pt := range d.Points[max(0, len(d.Points)-mostJobs):] {
			u, frozen := "–", "no"
			if pt.UDB != nil {
				u = withUnit(decimal(*pt.UDB, 1), "dB")
			}
			if pt.Frozen {
				frozen = "yes"
			}
			t.row(pt.At.Format("2 Jan 2006"), withUnit(decimal(pt.PredictedDB, 1), "dB"), u, withUnit(decimal(pt.MeasuredDB, 1), "dB"), signedDB(pt.DifferenceDB()), frozen)
		}
		means := table{Caption: jobs.QuantityName(d.Quantity) + ", mean of measured less predicted; drawn to the other families by what is known of all.", Head: differenceHead}
		means.row("this family", differenceCells(d)...)
		p.Lead = append(p.Lead, sentence(jobs.QuantityName(d.Quantity)+": "+driftSentence(d)))
		p.Tables = append(p.Tables, means, t)
	}
	return p
}

func complaintsPart(f outcomes.FamilySummary, chart func(string) chartView) outcomePart {
	p := outcomePart{Title: "Complaints", Lead: []string{freeSentence(f.Free)}}
	if f.Free.N > 0 {
		p.Charts = []chartView{chart("free")}
	}
	t := table{Caption: "Jobs of this family with a complaint, of those heard from after handover: by an answer or a complaint.", Head: rateHead("complaints")}
	t.row("any complaint", rateCells(f.Complaints)...)
	t.row("found to be ours", rateCells(f.Ours)...)
	p.Tables = []table{t, freeTable(f.Free)}
	return p
}

func getFamilyChart(v *visit) error {
	f, err := v.family()
	if err != nil {
		return err
	}
	draw, ok := familyCharts[v.param("chart")]
	return v.drawn(ok, func() picturer { return draw(f) })
}

// reviewView asks for the reason of a mark, or of taking it away.
func reviewView(f outcomes.FamilySummary) recordView {
	view := recordView{Where: []crumb{{"Outcomes", "/outcomes"}, {jobs.Capital(f.Words), "/outcomes/" + url.PathEscape(f.Code)}}, Answer: "Mark this family of build-ups for review?",
		Lead: []string{"The mark stays, and is shown wherever the family is, until somebody clears it with a reason. It stops nobody."}}
	view.Form = form{Submit: "Mark it", Fields: []field{{Kind: "area", Name: "reason", Label: "Reason", Value: f.Review.Proposal()}}}
	if f.Review.Marked {
		view.Answer = "Clear the mark on this family of build-ups?"
		view.Lead = []string{"Marked for review: " + f.Review.Reason, "Say what was found or changed."}
		view.Form = form{Submit: "Clear the mark", Fields: []field{{Kind: "area", Name: "reason", Label: "Reason"}}}
	}
	return view
}

func getFamilyReview(v *visit) error {
	f, err := v.family()
	if err != nil {
		return err
	}
	return v.ask(reviewView(f))
}

// postFamilyReview records the mark in the firm's own job: it concerns all of them.
func postFamilyReview(v *visit) error {
	f, err := v.family()
	if err != nil {
		return err
	}
	view := reviewView(f)
	r := v.read(&view.Form, "review")
	r.edge["family"], r.edge["flag"] = f.Code, string(jobs.FlagReview)
	if f.Review.Marked {
		r.edge["flag"] = string(jobs.FlagCleared)
	}
	r.text("reason")
	return v.finish(view, r, &jobs.Job{ID: v.who.Company}, "/outcomes/"+url.PathEscape(f.Code))
}
