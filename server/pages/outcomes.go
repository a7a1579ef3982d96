package pages

import (
	"bytes"
	"fmt"
	"net/url"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/jobs/outcomes"
	"tacet/server/drawing"
)

// deciders may read what the build-ups of the whole firm did, and mark families.
var deciders = []jobs.Role{jobs.Supervisor, jobs.Office, jobs.Owner}

var (
	_ = register(Page{Name: "outcomes", Path: "/outcomes", Firm: true, Roles: deciders, Get: getOutcomes, View: outcomesView{}})
	_ = register(Page{Path: "/outcomes-:what.csv", Firm: true, Roles: deciders, Get: getOutcomesCSV})
	_ = register(Page{Path: "/outcomes-chart/:chart/:width", Firm: true, Roles: deciders, Get: getSummaryChart})
)

// outcomesView is what the firm's jobs came to: the answer, the rates as a picture, a line to each family, and the rest
// closed until asked.
type outcomesView struct {
	frame
	Answer   string
	Also     string
	Do       step        // how it begins where there is no job
	Due      []familyRow // families that the rule asks to look at, or that are marked
	Chart    chartView
	Families []familyRow
	Parts    []outcomePart
	Notes    []string
}

// familyRow is one family in the list.
type familyRow struct {
	Href, Words, Beside string // Beside is the code of a family, or how many values there are
	Says                []string
	Mark                string
}

// outcomePart is one closed part of the page.
type outcomePart struct {
	Title  string
	Lead   []string
	Charts []chartView
	Tables []table
}

func (v *visit) outcomes() (outcomes.Summary, error) {
	s := keptBy(&shelves, v.deps.Record, v.who.Company, newShelf)
	if err := s.ready(v.ctx, v.deps.Record, v.who.Company, v.deps.Log); err != nil {
		return outcomes.Summary{}, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.book.Summary(), nil
}

func getOutcomes(v *visit) error {
	s, err := v.outcomes()
	if err != nil {
		return err
	}
	view := outcomesView{Answer: rateSentence(s.Complaints.Any), Also: jobsSentence(s.Jobs), Notes: s.Notes}
	for _, f := range s.Families {
		row := rowOfFamily(f)
		if s.Complaints.Any.N == 0 { // said once, for all of them
			row.Says = row.Says[1:]
		}
		view.Families = append(view.Families, row)
		if row.Mark != "" {
			view.Due = append(view.Due, familyRow{Href: row.Href, Words: row.Words, Beside: row.Beside, Mark: row.Mark})
		}
	}
	if s.Complaints.Any.N > 0 {
		view.Chart = summaryChart(s, "complaints")
	}
	if s.Jobs.N == 0 {
		view.Answer, view.Do = "There is no job yet, so nothing can be said of outcomes.", v.begin()
		view.Also = "What is quoted, built, tested and asked afterwards is counted here by itself."
	} else {
		view.Parts = []outcomePart{freePart(s), measuredPart(s), groupsPart(s), driversPart(s), changePart(s), processPart(s)}
	}
	view.frame = v.frame("Outcomes")
	return v.show("outcomes", view)
}

func summaryChart(s outcomes.Summary, name string) chartView {
	return chartView{"/outcomes-chart/" + name, titleOf(summaryCharts[name](s))}
}

// titleOf is the result that a chart states.
func titleOf(p picturer) string {
	switch c := p.(type) {
	case drawing.Forest:
		return sentence(c.Title) + " " + c.Desc
	case drawing.Dots:
		return sentence(c.Title) + " " + c.Desc
	case drawing.Steps:
		return sentence(c.Title) + " " + c.Desc
	}
	return ""
}

// jobsSentence says how many jobs the page speaks of, and how far they are.
func jobsSentence(c outcomes.JobCounts) string {
	says := []string{itoa(c.Over) + " finished"}
	if c.Over > 0 {
		says[0] += fmt.Sprintf(" (heard from since: %d, not heard from: %d)", c.Known, c.Unknown)
	}
	if n := c.Running - c.OnHold; n > 0 {
		says = append(says, itoa(n)+" still worked on")
	}
	if c.OnHold > 0 {
		says = append(says, itoa(c.OnHold)+" all in place but on hold, because a stop check is open")
	}
	return jobs.Count(c.N, "job") + ": " + strings.Join(append(says, itoa(c.Tested)+" tested"), "; ") + "."
}

func rowOfFamily(f outcomes.FamilySummary) familyRow {
	row := familyRow{Href: "/outcomes/" + url.PathEscape(f.Code), Words: jobs.Capital(f.Words), Beside: f.Code, Says: []string{rateSentence(f.Complaints)}}
	if d := mostTested(f); d != nil {
		row.Says = append(row.Says, differenceSentence(*d))
	}
	switch {
	case f.Review.Marked:
		row.Mark = "Marked for review: " + f.Review.Reason
	case f.Review.Due:
		row.Mark = "Asks for a review: " + f.Review.Proposal()
	}
	return row
}

func differenceSentence(d outcomes.DifferenceView) string {
	name := jobs.QuantityName(d.Quantity)
	if d.Own.N < outcomes.FewestForRate {
		return fmt.Sprintf("%s measured in %s: too few to say.", name, jobs.Count(d.Own.N, "job"))
	}
	return fmt.Sprintf("%s measured less predicted: %s over %d jobs (95 %% interval %s).", name, signedDB(*d.Own.Mean), d.Own.N, signedRange(*d.Own.Interval, "dB"))
}

func freePart(s outcomes.Summary) outcomePart {
	p := outcomePart{Title: "Without a complaint, over time", Lead: []string{freeSentence(s.Complaints.Free),
		"Complaints come in by themselves, answers only when somebody asks: where follow-ups stop early, the curve falls too far."}}
	if s.Complaints.Free.N > 0 {
		p.Charts = []chartView{summaryChart(s, "free")}
	}
	if s.Complaints.Any.N == 0 {
		return p
	}
	p.Tables = []table{freeTable(s.Complaints.Free)}
	t := table{Caption: "Jobs with a complaint by kind of noise, of those heard from after handover: by an answer or a complaint.", Head: rateHead("complaints")}
	for _, n := range s.Complaints.Noise {
		t.row(n.Heard, rateCells(n.Rate)...)
	}
	p.Tables = append(p.Tables, t)
	return p
}

func freeTable(f outcomes.Free) table {
	t := table{Caption: "After Kaplan and Meier; follow-ups that stopped count until then and not after.", Head: []string{"without a complaint", "95 %", "still followed"}}
	for _, a := range f.At {
		free, limits := "not known", "–"
		if a.Known {
			free, limits = shareWords(a.Share), shareRange(a.Limits)
		}
		t.row("month "+itoa(a.Month), free, limits, itoa(a.AtRisk))
	}
	return t
}

func measuredPart(s outcomes.Summary) outcomePart {
	p := outcomePart{Title: "Predicted against measured", Lead: []string{"Only values of the same quantity are compared. Jobs that were tested are not a fair sample of all."}}
	if len(s.Quantities) == 0 {
		p.Lead = append(p.Lead, "No finished job with a prediction was tested.")
		return p
	}
	p.Lead = append(p.Lead, correctionSentence(s.Correction))
	p.Charts = []chartView{summaryChart(s, "measured")}
	if f, ok := differencesChart(s).(drawing.Forest); ok && len(f.Rows) > 0 {
		p.Charts = append(p.Charts, summaryChart(s, "differences"))
	}
	for _, q := range s.Quantities {
		t := table{Caption: jobs.QuantityName(q.Quantity) + ", measured less predicted. " + poolWords(q), Head: differenceHead}
		for _, f := range s.Families {
			for _, d := range f.Differences {
				if d.Quantity == q.Quantity {
					t.row(f.Code, differenceCells(d)...)
				}
			}
		}
		p.Tables = append(p.Tables, t)
	}
	return p
}

var differenceHead = []string{"jobs", "frozen", "flanking left out", "own mean", "own 95 %", "drawn to the others", "95 %", "next job ±"}

func differenceCells(d outcomes.DifferenceView) []string {
	cells := []string{itoa(d.Own.N), itoa(d.Frozen), itoa(d.Partial), "too few to say", "–", "–", "–", "–"}
	if d.Own.N >= outcomes.FewestForRate {
		cells[3], cells[4] = signedDB(*d.Own.Mean), signedRange(*d.Own.Interval, "dB")
	}
	if p := d.Pooled; p != nil {
		cells[5], cells[6], cells[7] = signedDB(p.MeanDB), signedRange(p.Interval, "dB"), withUnit(decimal(p.NextSDDB, 1), "dB")
	}
	return cells
}

func poolWords(q outcomes.Pooling) string {
	if !q.Partly {
		return fmt.Sprintf("Fewer than %d families were tested, so none is drawn to the others.", outcomes.FewestFamilies)
	}
	return fmt.Sprintf("All families: %s, 95 %% %s; spread between families %s, between jobs of one %s.", signedDB(q.Overall.MeanDB), signedRange(q.Overall.Interval, "dB"),
		withUnit(decimal(*q.BetweenDB, 1), "dB"), withUnit(decimal(*q.WithinDB, 1), "dB"))
}

func groupsPart(s outcomes.Summary) outcomePart {
	p := outcomePart{Title: "Complaints by what jobs had in common", Lead: []string{"What goes together does not cause each other."}}
	if s.Complaints.Any.N == 0 {
		p.Lead = []string{"Nobody has been heard from since the work, so there is nothing to compare yet."}
		return p
	}
	p.Charts = []chartView{summaryChart(s, "groups")}
	for _, g := range s.Complaints.By {
		t := table{Caption: sentence(g.Title), Head: rateHead("complaints")}
		for _, l := range g.Levels {
			if l.Rate.N+l.Rate.Unknown > 0 {
				t.row(l.Level, rateCells(l.Rate)...)
			}
		}
		p.Tables = append(p.Tables, t)
	}
	return p
}

func driversPart(s outcomes.Summary) outcomePart {
	d := s.Drivers
	p := outcomePart{Title: "What goes with trouble after the work", Lead: []string{fmt.Sprintf("Trouble is a complaint, or something put right after the work: %d of %s. %d more are left out for want of an answer, a margin or evidence.", d.Events, jobs.Count(d.N, "job"), d.LeftOut)}}
	if d.N == 0 && d.LeftOut == 0 {
		p.Lead = []string{"Trouble is a complaint, or something put right after the work. Nobody has been heard from since the work, so nothing can be said of it yet."}
		return p
	}
	if d.Refused != "" {
		p.Lead = append(p.Lead, sentence(d.Refused))
		return p
	}
	p.Charts = []chartView{summaryChart(s, "drivers")}
	t := table{Caption: "Logistic regression with Firth's penalty; the others being equal. It does not say why.", Head: []string{"for", "odds ratio", "95 %"}}
	var unclear []string
	for _, e := range d.Effects {
		t.row(e.Words, e.Step, "× "+ratio(e.OddsRatio), ratio(e.Interval.Low)+" to "+ratio(e.Interval.High))
		if e.Interval.Holds(1) {
			unclear = append(unclear, e.Words)
			continue
		}
		p.Lead = append(p.Lead, sentence(e.Words)+" "+e.Finding)
	}
	if len(unclear) > 0 {
		p.Lead = append(p.Lead, "No clear link either way: "+strings.Join(unclear, "; ")+".")
	}
	p.Tables = []table{t}
	if d.Fit != nil {
		p.Charts = append(p.Charts, summaryChart(s, "calibration"))
		p.Lead = append(p.Lead, fmt.Sprintf("Brier score on jobs that the fit had not seen: %.3f; one probability for all gives %.3f. Lower is better.", d.Fit.Brier, d.Fit.Plain))
		c := table{Caption: "Predicted and observed, jobs sorted by prediction.", Head: []string{"jobs", "predicted", "observed", "95 %"}}
		for i, g := range d.Fit.Calibration {
			c.row("group "+itoa(i+1), itoa(g.N), shareWords(g.Predicted), shareWords(g.Observed), shareRange(g.Limits))
		}
		p.Tables = append(p.Tables, c)
	}
	return p
}

func changePart(s outcomes.Summary) outcomePart {
	p := outcomePart{Title: "Before and after, as clients judge it"}
	t := table{Caption: "After less before, 0 to 10, in the same homes; below 0 is better.", Head: []string{"homes", "mean change", "95 %", "asked on one side only"}}
	shown, asked := false, 0
	for _, c := range s.Before {
		asked += c.Mean.N
		cells := []string{itoa(c.Mean.N), "too few to say", "–", itoa(c.Unpaired)}
		if c.Enough {
			cells[1], cells[2] = signed(*c.Mean.Mean), signedRange(*c.Mean.Interval, "")
		}
		shown = shown || c.Mean.N >= 2
		t.row(c.Heard, cells...)
	}
	if asked == 0 {
		p.Lead = []string{"Nobody was asked both before and after yet."}
		return p
	}
	if shown {
		p.Charts = []chartView{summaryChart(s, "change")}
	}
	p.Tables = []table{t}
	return p
}

func processPart(s outcomes.Summary) outcomePart {
	p := outcomePart{Title: "Putting right, and the checks", Lead: []string{fmt.Sprintf("Putting right took %s and %s of the firm's own money; complaints cost %s besides.", withUnit(decimal(s.Process.Hours, 1), "h"), decimal(s.Process.Cost, 2), decimal(s.Process.Complaints, 2)), s.Process.Fitter.Finding}}
	t := table{Caption: "Why things were put right. Cost as recorded, in the firm's own money.", Head: []string{"times", "after the work", "hours", "cost"}}
	for _, c := range s.Process.Causes {
		t.row(spaced(c.Cause), itoa(c.N), itoa(c.Late), withUnit(decimal(c.Hours, 1), "h"), decimal(c.Cost, 2))
	}
	f := table{Caption: "Surfaces on which a check failed.", Head: rateHead("surfaces")[:4]}
	for _, l := range []struct {
		name string
		rate outcomes.Rate
	}{{"a fitter's first three", s.Process.Fitter.First}, {"later ones", s.Process.Fitter.Later}} {
		if l.rate.N > 0 {
			f.row(l.name, rateCells(l.rate)[:4]...)
		}
	}
	c := table{Caption: "How often each check failed, of the times it was answered.", Head: rateHead("failed")[:4]}
	var never []string
	for _, l := range s.Process.Checks {
		if l.Finding != "" {
			p.Lead = append(p.Lead, l.Code+" "+l.Title+". "+l.Finding)
		}
		if l.Rate.Events == 0 {
			never = append(never, fmt.Sprintf("%s %s (%d)", l.Code, l.Title, l.Rate.N))
			continue
		}
		c.row(l.Code+" "+l.Title, rateCells(l.Rate)[:4]...)
	}
	if len(never) > 0 {
		c.Caption += " Never failed, with the number of answers: " + strings.Join(never, ", ") + "."
	}
	p.Tables = []table{t, f, c}
	return p
}

func getSummaryChart(v *visit) error {
	s, err := v.outcomes()
	if err != nil {
		return err
	}
	make, ok := summaryCharts[v.param("chart")]
	return v.drawn(ok, func() picturer { return make(s) })
}

func getOutcomesCSV(v *visit) error {
	var b bytes.Buffer
	what := v.param("what")
	switch what {
	case "families":
		s, err := v.outcomes()
		if err != nil {
			return err
		}
		if err := outcomes.WriteFamilies(&b, s); err != nil {
			return err
		}
	case "jobs", "to-share":
		facts, err := FactsOf(v.ctx, v.deps.Record, v.who.Company)
		if err != nil {
			return err
		}
		if err := outcomes.WriteJobs(&b, facts, what == "to-share"); err != nil {
			return err
		}
	default:
		return jobs.ErrNotFound
	}
	v.c.Set(fiber.HeaderContentType, "text/csv; charset=utf-8")
	v.c.Set(fiber.HeaderContentDisposition, `attachment; filename="outcomes-`+what+`.csv"`)
	return v.c.Send(b.Bytes())
}
