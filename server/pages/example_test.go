package pages_test

import (
	"fmt"
	"time"

	"tacet/jobs"
	"tacet/server/pages"
)

// A surface is printed and drawn from the job alone, on the command line as in the pages.
func ExampleSheets() {
	j := jobs.NewJob("018f0000-0000-7000-8000-00000000a001", "018f0000-0000-7000-8000-00000000c001")
	sheets, err := pages.Sheets(j, nil, pages.SheetOptions{Firm: "Quillmarsh Linings", Printed: time.Date(2026, 11, 25, 8, 30, 0, 0, time.UTC)})
	fmt.Println(len(sheets), err)
	_, err = pages.Sheets(j, []string{"C1"}, pages.SheetOptions{})
	fmt.Println(err)
	// Output:
	// 0 <nil>
	// surface is C1; no surface of this job has that code
}
