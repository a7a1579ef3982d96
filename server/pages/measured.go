package pages

import (
	"slices"
	"strings"

	"tacet/jobs"
)

// measuredLine is a sound test in one line, for the pages of what was tested: what was promised there is not told without what came of it.
type measuredLine struct {
	Says, Link, Href string
	Failed           bool
}

// measuredLines are the tests of a surface, or of the whole job where s is nil, as the job judges them.
func measuredLines(j *jobs.Job, s *jobs.Surface) []measuredLine {
	var lines []measuredLine
	for _, t := range j.TestVerdicts() {
		if s != nil && !namesSurface(t.Test.Surfaces, s.Code) {
			continue
		}
		lines = append(lines, measured(j, t))
	}
	// what failed is to be read first
	slices.SortStableFunc(lines, func(a, b measuredLine) int {
		switch {
		case a.Failed == b.Failed:
			return 0
		case a.Failed:
			return -1
		}
		return 1
	})
	return lines
}

func measured(j *jobs.Job, t jobs.TestVerdict) measuredLine {
	of := strings.Join(t.Test.Surfaces, ", ")
	if of == "" {
		of = t.Test.SourceRoom + " to " + t.Test.ReceivingRoom
	}
	return measuredLine{Says: testLine(t), Link: "Sound test of " + of, Href: jobPath(j) + "/tests#" + testAnchor(t), Failed: t.Fails()}
}

// failedTests are the tests that fail, as lines of what is to be settled.
func failedTests(j *jobs.Job) []officeRow {
	var rows []officeRow
	for _, t := range j.FailedTests() {
		m := measured(j, t)
		rows = append(rows, officeRow{Name: m.Link, Says: []string{m.Says + "."}, Steps: []step{{m.Link, m.Href}}})
	}
	return rows
}

func testLine(t jobs.TestVerdict) string {
	says := "Measured: " + jobs.QuantityName(t.Test.Quantity) + " " + levelOf(t.MeasuredDB)
	switch {
	case t.Passes == nil:
		says += ", no target to compare with"
	case *t.Passes:
		says += ", target " + levelOf(t.Limit.ValueDB) + ": passed"
	default:
		says += ", target " + levelOf(t.Limit.ValueDB) + ": failed"
		if t.PutRight != nil {
			says += ", put right since: a new test is wanted"
		}
	}
	if !t.Counts {
		says += "; a worse test between the same rooms counts"
	}
	return says
}

// testAnchor is where a test stands on the page of all tests of its job.
func testAnchor(t jobs.TestVerdict) string { return "test-" + t.Record.ID }
