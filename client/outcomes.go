package main

import (
	"fmt"
	"io"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/jobs/outcomes"
	"tacet/server/pages"
)

type outcomesCmd struct {
	JSON      bool   `name:"json" help:"As JSON."`
	CSV       string `name:"csv" placeholder:"WHAT" help:"As CSV with units: families (a line for each family and quantity) or jobs (a line for each job, family and test)."`
	Anonymous bool   `help:"For sharing: without names, ids and days, and without families of fewer than five jobs."`
}

// Run says what the build-ups of all jobs did: how often, of how many, and how sure.
func (c *outcomesCmd) Run(s *session) error {
	if c.CSV != "" && c.CSV != "families" && c.CSV != "jobs" {
		return &jobs.InputError{Field: "--csv", Value: c.CSV, Range: "families or jobs"}
	}
	if c.CSV != "" && c.JSON {
		return &jobs.InputError{Field: "--csv", Value: "given with --json", Hint: "choose one of them"}
	}
	return s.inHome(func(h *home.Home) error {
		if c.CSV == "jobs" {
			facts, err := pages.FactsOf(s.ctx, h.Replica, h.Me.Company)
			if err != nil {
				return err
			}
			return outcomes.WriteJobs(s.Out, facts, c.Anonymous)
		}
		summary, err := pages.OutcomesOf(s.ctx, h.Replica, h.Me.Company)
		if err != nil {
			return err
		}
		if c.Anonymous {
			summary = summary.Anonymous()
		}
		switch {
		case c.CSV == "families":
			return outcomes.WriteFamilies(s.Out, summary)
		case c.JSON:
			return s.writeJSON(summary)
		}
		return showOutcomes(s.Out, summary)
	})
}

// showOutcomes prints the summary for people: what may be said first, then a line for each family.
func showOutcomes(out io.Writer, s outcomes.Summary) error {
	p := &printer{w: out}
	p.line("%s; %d finished, %d heard from since, %d not heard from.", jobs.Count(s.Jobs.N, "job"), s.Jobs.Over, s.Jobs.Known, s.Jobs.Unknown)
	if n := s.Jobs.OnHold; n > 0 {
		p.line("All in place but on hold, because a stop check is open: %s.", jobs.Count(n, "job"))
	}
	for _, f := range s.Findings {
		p.line("%s", f)
	}
	if s.Correction.At != "" {
		p.line("New predictions are shown beside what these jobs make of them: %s. %s", map[bool]string{true: "yes", false: "no"}[s.Correction.On], s.Correction.Reason)
	}
	for _, f := range s.Families {
		p.line("")
		p.line("%s  %s", f.Code, f.Words)
		p.columns(func(w io.Writer) {
			fmt.Fprintf(w, "    complaints\t%s\n", rateText(f.Complaints))
			for _, d := range f.Differences {
				fmt.Fprintf(w, "    %s measured less predicted\t%s\n", d.Words, differenceText(d))
			}
			if f.Review.Marked {
				fmt.Fprintf(w, "    review\tmarked: %s\n", f.Review.Reason)
			}
			for _, r := range f.Review.Rule {
				fmt.Fprintf(w, "    rule\t%s\n", r)
			}
		})
	}
	p.line("")
	for _, n := range s.Notes {
		p.line("%s", n)
	}
	return p.err
}

// rateText is a rate with its n and its intervals, and without a share where there are too few.
func rateText(r outcomes.Rate) string {
	says := fmt.Sprintf("%d of %d", r.Events, r.N)
	if r.Share == nil {
		says += ", too few to say"
	} else {
		says += fmt.Sprintf(", %s %%", num(100**r.Share, 1))
	}
	says += fmt.Sprintf("; 95 %%: Wilson %s to %s %%, exact %s to %s %%", num(100*r.Wilson.Low, 1), num(100*r.Wilson.High, 1), num(100*r.Exact.Low, 1), num(100*r.Exact.High, 1))
	if r.Unknown > 0 {
		says += fmt.Sprintf("; %d with nothing heard after handover", r.Unknown)
	}
	return says
}

func differenceText(d outcomes.DifferenceView) string {
	says := fmt.Sprintf("n = %d", d.Own.N)
	if d.Own.N < outcomes.FewestForRate {
		says += ", too few to say"
	} else {
		says += fmt.Sprintf(", mean %+.1f dB, 95 %% %+.1f to %+.1f dB", *d.Own.Mean, d.Own.Interval.Low, d.Own.Interval.High)
	}
	if p := d.Pooled; p != nil {
		says += fmt.Sprintf("; with the other families %+.1f dB, 95 %% %+.1f to %+.1f dB", p.MeanDB, p.Interval.Low, p.Interval.High)
	}
	return says
}
