package pages_test

import (
	"archive/zip"
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
	"tacet/sync/archive"
)

// readPDF is what can be read from a PDF, blanks and line ends as single spaces.
func readPDF(t *testing.T, data string) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("pdftotext is missing: install poppler-utils")
		}
		t.Skip("pdftotext is missing: install poppler-utils to read the papers")
	}
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, []byte(data), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-raw", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}

// Every paper opens from its page, holds what the job at 7b Lantern Row knows, and asks for what the forms ask for.
func TestPapers(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	page := get(t, w, lantern)
	for path, words := range map[string][]string{
		// the code is jobs.SheetCode's; a label for the surface and one for each of its five layers
		"/s/C1/labels.pdf": {jobs.FormatSheetCode(jobs.SheetCode(pagestest.Job, "C1")), "layer 5", "page 1 of 1"},
		"/labels.pdf":      {jobs.FormatSheetCode(jobs.SheetCode(pagestest.Job, "F1"))},
		"/delivery.pdf":    {"Delivery sheet", "arrived", "Two people, lifter", "Shortages", "K01"},
		"/survey.pdf":      {"Survey sheet", "Surface C1", "Voices, television", "Chimney breast", "neighbour's access"},
		"/timeline.pdf":    {"Timeline of the record", "Every entry", "Maren Tolleby", "covered unseen"},
	} {
		r := get(t, w, lantern+path)
		if r.status != 200 {
			t.Errorf("%s: status %d", path, r.status)
			continue
		}
		got := readPDF(t, r.body)
		for _, word := range words {
			if !strings.Contains(strings.ReplaceAll(got, " ", ""), strings.ReplaceAll(word, " ", "")) {
				t.Errorf("%s: %q is not on it", path, word)
			}
		}
		if !strings.HasPrefix(path, "/s/") && !strings.Contains(page.body, lantern+path) {
			t.Errorf("the job's page does not lead to %s", path)
		}
	}
	if r := get(t, w, "/survey.pdf"); r.status != 200 || !strings.Contains(readPDF(t, r.body), "Survey sheet") {
		t.Errorf("the empty survey sheet: status %d", r.status)
	}
	// A fitter has no use for the dispute file, which names everybody.
	w.As(pagestest.Pavo, jobs.Site)
	if r := get(t, w, lantern+"/timeline.pdf"); r.status != 403 {
		t.Errorf("a fitter opens the timeline: status %d", r.status)
	}
}

// The dispute file that a page gives is whole: it checks against itself, and holds the timeline as paper.
func TestDisputeFileOfAPage(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	r := get(t, w, lantern+"/dispute.zip")
	if r.status != 200 {
		t.Fatalf("status %d", r.status)
	}
	rep, err := archive.Verify(bytes.NewReader([]byte(r.body)), int64(len(r.body)))
	if err != nil || rep.Entries != len(w.JobAs(pagestest.Job).Records) {
		t.Errorf("%+v %v", rep, err)
	}
	z, err := zip.NewReader(bytes.NewReader([]byte(r.body)), int64(len(r.body)))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"sheets/timeline.pdf", "sheets/pack.pdf", "sheets/sheets.pdf"} {
		if f, err := z.Open(name); err != nil {
			t.Errorf("%s: %v", name, err)
		} else if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}
