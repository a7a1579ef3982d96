package outcomes

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tacet/jobs"
)

// WriteFamilies writes one line for each family and quantity, and one for a family without a test: RFC 4180, units in the
// headings, shares from 0 to 1, empty where nothing may be said.
func WriteFamilies(w io.Writer, s Summary) error {
	rows := [][]string{{"family", "in words", "jobs (1)", "review mark", "complaints (1)", "jobs heard from since (1)", "jobs not heard from (1)", "complaint share (1)",
		"Wilson 95 % low (1)", "Wilson 95 % high (1)", "exact 95 % low (1)", "exact 95 % high (1)", "complaints ours (1)", "free at 12 months (1)", "free 95 % low (1)", "free 95 % high (1)",
		"quantity", "jobs tested (1)", "tests (1)", "jobs with frozen prediction (1)", "jobs with flanking left out (1)", "measured less predicted, mean (dB)", "spread (dB)", "mean 95 % low (dB)", "mean 95 % high (dB)",
		"pooled mean (dB)", "pooled 95 % low (dB)", "pooled 95 % high (dB)", "own weight (1)", "spread of the next job (dB)", "drift (dB per year)", "drift 95 % low (dB per year)", "drift 95 % high (dB per year)"}}
	for _, f := range s.Families {
		c := f.Complaints
		head := []string{jobs.Cell(f.Code), jobs.Cell(f.Words), itoa(f.Jobs), mark(f.Review.Marked), itoa(c.Events), itoa(c.N), itoa(c.Unknown), optional(c.Share, 4),
			number(c.Wilson.Low, 4), number(c.Wilson.High, 4), number(c.Exact.Low, 4), number(c.Exact.High, 4), itoa(f.Ours.Events)}
		free := []string{"", "", ""}
		for _, a := range f.Free.At {
			if a.Month == 12 && a.Known {
				free = []string{number(a.Share, 4), number(a.Limits.Low, 4), number(a.Limits.High, 4)}
			}
		}
		head = append(head, free...)
		if len(f.Differences) == 0 {
			rows = append(rows, pad(head, len(rows[0])))
		}
		for _, d := range f.Differences {
			rows = append(rows, append(slices.Clone(head), d.cells()...))
		}
	}
	return writeCSV(w, rows)
}

func (d DifferenceView) cells() []string {
	m := d.Own
	cells := []string{jobs.Cell(d.Quantity), itoa(m.N), itoa(d.Tests), itoa(d.Frozen), itoa(d.Partial)}
	if m.N < FewestForRate {
		cells = append(cells, "", "", "", "")
	} else {
		cells = append(cells, optional(m.Mean, 2), optional(m.SD, 2), number(m.Interval.Low, 2), number(m.Interval.High, 2))
	}
	if p := d.Pooled; p != nil {
		cells = append(cells, number(p.MeanDB, 2), number(p.Interval.Low, 2), number(p.Interval.High, 2), number(p.OwnWeight, 3), number(p.NextSDDB, 2))
	} else {
		cells = append(cells, "", "", "", "", "")
	}
	if s := d.Drift; s != nil {
		return append(cells, number(s.PerYear, 2), number(s.Interval.Low, 2), number(s.Interval.High, 2))
	}
	return append(cells, "", "", "")
}

// WriteJobs writes one line for each job and family, with the job's tests. Anonymous leaves out what tells jobs and people
// apart: ids, names and days, so only the year stands; the lines are sorted by what they say, so that their order tells
// nothing; and families of fewer than five jobs are not named.
func WriteJobs(w io.Writer, facts []Facts, anonymous bool) error {
	head := []string{"job", "name", "end of work", "family", "margin as quoted (dB)", "quote frozen", "mean evidence (0 to 5)", "layers covered (1)", "layers covered unseen (1)",
		"checks answered (1)", "checks failed (1)", "flanking declined (1)", "heard from since", "complaint", "ours", "months to complaint or last answer (month)",
		"quantity", "predicted (dB)", "standard uncertainty (dB)", "prediction frozen", "flanking left out", "measured (dB)", "limit (dB)"}
	sizes := map[string]int{}
	for i := range facts {
		for code := range facts[i].byFamily() {
			sizes[code]++
		}
	}
	var rows [][]string
	for i := range facts {
		f := &facts[i]
		for code, parts := range f.byFamily() {
			family := code
			if anonymous && sizes[code] < FewestForRate {
				family = "a family of fewer than five jobs"
			}
			rows = append(rows, f.lines(code, family, parts)...)
		}
	}
	if anonymous {
		for _, r := range rows {
			r[0], r[1], r[2] = "", "", r[2][:min(4, len(r[2]))]
		}
	}
	slices.SortFunc(rows, func(a, b []string) int { return slices.CompareFunc(a, b, cmp.Compare[string]) })
	return writeCSV(w, append([][]string{head}, rows...))
}

func (f *Facts) byFamily() map[string][]Part {
	out := map[string][]Part{}
	for _, p := range f.Parts {
		out[p.Family.Code] = append(out[p.Family.Code], p)
	}
	return out
}

// lines are the job's rows of one family: one for each test, or one without.
func (f *Facts) lines(code, family string, parts []Part) [][]string {
	part := Facts{Job: f.Job, Parts: parts}
	surfaces := map[string]bool{}
	answered := 0
	frozen := true
	for _, p := range parts {
		surfaces[p.Surface] = true
		answered += p.Answered
		frozen = frozen && p.Frozen
	}
	st := f.standing(surfaces)
	covered, unseen := part.covered()
	end, months := "", ""
	if f.Finished != nil {
		end = f.Finished.UTC().Format("2006-01-02")
	}
	if st.dated {
		months = number(st.followed.Time, 1)
	}
	head := []string{jobs.Cell(f.Job), jobs.Cell(f.Name), end, jobs.Cell(family), optional(part.margin(), 1), mark(frozen), optional(part.evidence(), 2), itoa(covered), itoa(unseen),
		itoa(answered), itoa(part.failed()), itoa(f.Declined), mark(st.known), mark(st.complained), mark(st.ours), months}
	var rows [][]string
	for _, t := range f.Tests {
		if t.Family == code {
			rows = append(rows, append(slices.Clone(head), jobs.Cell(t.Quantity), optional(t.PredictedDB, 1), optional(t.UDB, 1), mark(t.Frozen), mark(t.Partial), number(t.MeasuredDB, 1), optional(t.LimitDB, 1)))
		}
	}
	if len(rows) == 0 {
		rows = [][]string{pad(head, len(head)+7)}
	}
	return rows
}

// Anonymous is the summary without what tells jobs apart: no ids, names, days or written reasons, and families of fewer
// than five jobs left out.
func (s Summary) Anonymous() Summary {
	var kept []FamilySummary
	for _, f := range s.Families {
		if f.Jobs < FewestForRate {
			continue
		}
		f.Differences = slices.Clone(f.Differences)
		for i := range f.Differences {
			ps := slices.Clone(f.Differences[i].Points)
			for k := range ps {
				ps[k].Job = ""
				ps[k].At = ps[k].At.UTC().AddDate(0, 1-int(ps[k].At.UTC().Month()), 1-ps[k].At.UTC().Day()).Truncate(24 * 60 * 60 * 1e9)
			}
			slices.SortFunc(ps, func(a, b Point) int {
				return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.PredictedDB, b.PredictedDB), cmp.Compare(a.MeasuredDB, b.MeasuredDB))
			})
			f.Differences[i].Points = ps
		}
		f.Review.Reason, f.Review.At, f.last = "", "", nil
		kept = append(kept, f)
	}
	s.Correction.Reason, s.Correction.At = "", ""
	left := len(s.Families) - len(kept)
	s.Families = append([]FamilySummary{}, kept...)
	s.Findings = s.findings() // without those about a family that was left out
	s.Notes = append(slices.Clone(s.Notes), fmt.Sprintf("For sharing: without names, ids and days; %s of fewer than five jobs left out.", plural(left, "family", "families")))
	return s
}

func writeCSV(w io.Writer, rows [][]string) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.WriteAll(rows); err != nil {
		return fmt.Errorf("write outcomes: %w", err)
	}
	return nil
}

func number(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

func optional(v *float64, places int) string {
	if v == nil {
		return ""
	}
	return number(*v, places)
}

func itoa(n int) string { return strconv.Itoa(n) }

func mark(b bool) string {
	if b {
		return yes
	}
	return no
}

func pad(cells []string, n int) []string {
	for len(cells) < n {
		cells = append(cells, "")
	}
	return cells
}
