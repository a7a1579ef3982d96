package pages

import (
	"fmt"
	"slices"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/evidence"
)

var (
	_ = register(Page{Name: "evidence", Path: "/evidence", Roles: everybody, Get: getEvidence, View: evidenceView{}})
	_ = register(Page{Name: "evidence", Path: "/evidence/published/:what", Roles: everybody, Get: getPublished, View: evidenceView{}})
	_ = register(Page{Name: "evidence", Path: runsPath, Roles: everybody, Get: getRuns, View: evidenceView{}})
)

const runsPath = "/evidence/runs"

// evidenceView is what the numbers of this program rest on, the answer first.
type evidenceView struct {
	frame
	Answer string
	Also   string
	Parts  []outcomePart
	Links  []familyRow // the published values of one thing, each on a page of its own
	Runs   string      // where the runs of the checks are shown, which grow with every check
	Back   string
}

func getEvidence(v *visit) error {
	e, err := evidence.Gather()
	if err != nil {
		return err
	}
	view := evidenceView{}
	for _, p := range e.Published {
		says := jobs.Count(len(p.Values), "value")
		if n := p.NotMet(); n > 0 {
			says += fmt.Sprintf(", %d not met", n)
		}
		view.Links = append(view.Links, familyRow{Href: "/evidence/published/" + p.What, Words: p.Name(), Beside: says})
	}
	view.Answer = fmt.Sprintf("%d published values, %d not met", len(e.Values()), e.NotMet())
	view.Also = fmt.Sprintf("%d of %d measured build-ups lie within the standard uncertainty that their prediction claims, %d within twice it. All of this page is calculated, or read from what the checks wrote about themselves.", e.WithinU, e.Counted, e.Within2U)
	view.Parts = []outcomePart{accuracyPart(e), limitsPart(e), patternPart(e)}
	view.Runs = runsPath
	view.frame = v.frame("Evidence")
	return v.show("evidence", view)
}

func accuracyPart(e evidence.Evidence) outcomePart {
	t := table{Caption: "Above 0: predicted better than measured. Single numbers, doubtful rows not counted.", Head: []string{"rows", "mean error", "root mean square", "the worst"}}
	for _, f := range e.Families {
		t.row(spaced(f.Family), itoa(f.N), withUnit(signed(f.BiasDB), "dB"), withUnit(decimal(f.RMSDB, 1), "dB"), f.WorstID+" "+withUnit(signed(f.WorstDB), "dB"))
	}
	octaves := table{Caption: "Octaves from 250 to 2000 Hz, and rows that were used for nothing before they were compared.", Head: []string{"rows with octaves", "root mean square", "rows held out", "their mean error", "their root mean square"}}
	for _, f := range e.Families {
		if f.OctaveN == 0 && f.HeldOutN == 0 {
			continue
		}
		octaves.row(spaced(f.Family), itoa(f.OctaveN), measuredOf(f.OctaveN, decimal(f.OctaveRMSDB, 1)), itoa(f.HeldOutN), measuredOf(f.HeldOutN, signed(f.HeldOutBiasDB)), measuredOf(f.HeldOutN, decimal(f.HeldOutRMSDB, 1)))
	}
	return outcomePart{Title: "Predictions beside measured build-ups", Tables: []table{t, octaves}}
}

// measuredOf is a figure in dB where there are rows for it.
func measuredOf(rows int, figure string) string {
	if rows == 0 {
		return ""
	}
	return withUnit(figure, "dB")
}

// limitsPart shows where measured rows contradict each other, and masonry beside the rules for its mass.
func limitsPart(e evidence.Evidence) outcomePart {
	against := table{Caption: "Measured rows that like rows contradict: no model meets both.", Head: []string{"differ by", "could differ by"}}
	for _, c := range e.Contradictions {
		differ := make([]string, len(c.Measured))
		for i, d := range c.Measured {
			differ[i] = signed(d)
		}
		against.row(c.Row+" less "+c.Like+": "+c.Why, withUnit(strings.Join(differ, ", "), "dB"), withUnit(signed(c.LeastDB)+" to "+signed(c.MostDB), "dB"))
	}
	rule := table{Caption: "Masonry and concrete, weighted sound reduction index: predicted, and by the rule for the mass (EN 12354-1:2000, Annex B).", Head: []string{"mass", "thickness", "predicted", "rule"}}
	for _, p := range e.MassRule {
		rule.row(p.Material+", "+withUnit(decimal(p.DensityKgM3, 0), "kg/m³"), withUnit(decimal(p.MassKgM2, 0), "kg/m²"), withUnit(decimal(p.ThicknessMM, 0), "mm"), withUnit(decimal(p.RwDB, 1), "dB"), withUnit(decimal(p.RuleDB, 1), "dB"))
	}
	return outcomePart{Title: "Where measurements and rules disagree", Tables: []table{against, rule}}
}

func patternPart(e evidence.Evidence) outcomePart {
	p := outcomePart{Title: "Differences between build-ups"}
	for _, f := range e.Patterns {
		t := table{Caption: f.Name + ": " + map[bool]string{true: "as it should be", false: "NOT as it should be"}[f.OK] + ". Expected: " + f.Expected + ".", Head: []string{"Rw"}}
		for _, s := range f.Steps {
			t.row(s.What, withUnit(decimal(s.RwDB, 1), "dB"))
		}
		p.Tables = append(p.Tables, t)
	}
	return p
}

// runParts are the runs, each folded: one of them alone counts more than a screen holds.
func runParts(e evidence.Evidence) []outcomePart {
	var parts []outcomePart
	for _, r := range e.Runs {
		t := table{Caption: r.Says, Head: []string{"found"}}
		t.row("when", r.Date)
		t.row("commit", r.Commit[:min(12, len(r.Commit))])
		t.row("took", withUnit(itoa(r.Seconds), "s"))
		for _, c := range r.Counts {
			t.row(spaced(strings.ReplaceAll(c.Test, "/", ": ")), c.Says)
		}
		parts = append(parts, outcomePart{Title: fmt.Sprintf("%s, %s: %s", r.Kind, r.Step, r.Result), Tables: []table{t}})
	}
	return parts
}

func getRuns(v *visit) error {
	e, err := evidence.Gather()
	if err != nil {
		return err
	}
	view := evidenceView{Answer: jobs.Count(len(e.Runs), "run") + " of the checks kept", Parts: runParts(e), Back: "/evidence"}
	view.frame = v.frame("Evidence: runs of the checks")
	return v.show("evidence", view)
}

func getPublished(v *visit) error {
	e, err := evidence.Gather()
	if err != nil {
		return err
	}
	what := v.c.Params("what")
	i := slices.IndexFunc(e.Published, func(p evidence.Published) bool { return p.What == what })
	if i < 0 {
		return fiber.ErrNotFound
	}
	p := e.Published[i]
	t := table{Caption: "A value is met when it differs from the published one by no more than the tolerance.", Head: []string{"published", "calculated", "tolerance", "met", "source"}}
	for _, r := range p.Values {
		t.row(spaced(r.Name+" "+r.Key), figure(r.Expected), figure(r.Got), figure(r.Tolerance), map[bool]string{true: "yes", false: "NO"}[r.OK], r.Source)
	}
	view := evidenceView{Answer: fmt.Sprintf("%s: %s, %d not met", p.Name(), jobs.Count(len(p.Values), "published value"), p.NotMet()), Back: "/evidence",
		Parts: []outcomePart{{Title: "All values", Tables: []table{t}}}}
	view.frame = v.frame("Evidence: " + p.Name())
	return v.show("evidence", view)
}

// figure writes a check value with the digits that matter.
func figure(v float64) string { return fmt.Sprintf("%.5g", v) }
