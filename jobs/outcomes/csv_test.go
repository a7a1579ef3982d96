package outcomes_test

import (
	"bytes"
	"encoding/csv"
	"math/rand/v2"
	"strings"
	"testing"

	"tacet/jobs/outcomes"
)

func TestCSV(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	fs := newWorld(r, 4).firm(r, 60)
	fs[0].Name = `=HYPERLINK("http://x")`
	fs[1].Name = "-12, \"quoted\"\nover two lines"
	fs[2].Name, fs[3].Name, fs[4].Name = "@x", "\tx", "+44 7700 900123"
	fs[5].Parts[0].Family = outcomes.Family{Code: "W-bar-1-concrete", Words: "rare"}
	var jobs, families, shared bytes.Buffer
	for _, err := range []error{outcomes.WriteJobs(&jobs, fs, false), outcomes.WriteFamilies(&families, outcomes.Summarise(fs)), outcomes.WriteJobs(&shared, fs, true)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, out := range map[string]string{"jobs": jobs.String(), "families": families.String(), "for sharing": shared.String()} {
		if !strings.Contains(out, "\r\n") || strings.Count(out, "(dB)") < 3 {
			t.Errorf("%s: no CRLF or no units", name)
		}
		rows, err := csv.NewReader(strings.NewReader(out)).ReadAll() // refuses rows of unequal length
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, row := range rows[1:] {
			for i, cell := range row {
				if cell != "" && strings.ContainsRune("=+@\t", rune(cell[0])) || strings.HasPrefix(cell, "-") && !strings.Contains(rows[0][i], "dB") {
					t.Errorf("%s: a spreadsheet would run %q", name, cell)
				}
			}
		}
	}
	// in the words of the page of outcomes
	if !strings.Contains(families.String(), "jobs heard from since (1),jobs not heard from (1)") || !strings.Contains(jobs.String(), ",heard from since,complaint,") {
		t.Errorf("the headings say otherwise: %.400s %.400s", families.String(), jobs.String())
	}
	if !strings.Contains(jobs.String(), "'=HYPERLINK") {
		t.Errorf("the name is not kept as text: %s", jobs.String()[:400])
	}
	for _, private := range []string{"job-", "Job ", "fitter", "HYPERLINK", "900123", "W-bar-1-concrete", "2020-"} {
		if strings.Contains(shared.String(), private) {
			t.Errorf("what is shared tells %q", private)
		}
	}
	if strings.Contains(jobs.String(), "fitter 1") {
		t.Error("no export names people")
	}
}

func TestAnonymousSummary(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	fs := newWorld(r, 3).firm(r, 80)
	fs[7].Parts[0].Family = outcomes.Family{Code: "W-bar-1-concrete", Words: "rare"}
	fs[8].Reviews = []outcomes.ReviewMark{{Family: "W-clip-1m-masonry", Flag: "review", Reason: "Mrs Fenwarden rang", At: *fs[8].Finished}}
	// Three jobs of one family, two of them put right: the rule names the family among the findings, and it is too small to share.
	for i := 10; i < 13; i++ {
		fs[i].Parts[0].Family = outcomes.Family{Code: "C-clip-2-slab", Words: "rare as well"}
		at := fs[i].Finished.AddDate(0, 1, 0)
		fs[i].Complaints = []outcomes.Complained{{At: at, Kind: "voices", Surface: fs[i].Parts[0].Surface, Outcome: "ours_put_right"}}
	}
	whole := outcomes.Summarise(fs)
	whole.Correction = outcomes.CorrectionState{On: true, Reason: "as Mr Quenby asked", At: "2026-11-20T09:00:00Z"}
	if !strings.Contains(strings.Join(whole.Findings, " "), "Family C-clip-2-slab asks for a review") {
		t.Fatalf("no finding names the small family: %q", whole.Findings)
	}
	before := text(t, whole)
	shared := text(t, whole.Anonymous())
	if !whole.Anonymous().Correction.On {
		t.Error("whether the correction is on is nobody's secret")
	}
	for _, private := range []string{"job-0", "Fenwarden", "Quenby", "2026-11-20", "W-bar-1-concrete", "C-clip-2-slab"} {
		if strings.Contains(shared, private) {
			t.Errorf("what is shared tells %q", private)
		}
		if !strings.Contains(before, private) {
			t.Errorf("%q is not in the whole summary, so nothing was shown", private)
		}
	}
	if text(t, whole) != before {
		t.Error("making it anonymous changed the summary itself")
	}
}
