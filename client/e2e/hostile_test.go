package e2e_test

import (
	"encoding/json"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// Text that would do something if it were not escaped does nothing in a browser either: no script runs, no picture is asked
// for, and the policy of the page has nothing to refuse.
func TestHostileTextDoesNothing(t *testing.T) {
	b := open(t)
	w := pagestest.New(t, pagestest.Options{})
	for _, text := range []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `'><svg/onload=alert(1)>`, `</title><script>alert(1)</script>`,
		`</textarea><script>alert(1)</script>`, `" autofocus onfocus="alert(1)`, `<style>*{display:none}</style>`, `<base href="https://elsewhere.example.net/">`,
		`<meta http-equiv="refresh" content="0;url=https://elsewhere.example.net/">`, `<link rel=stylesheet href=https://elsewhere.example.net/x.css>`,
	} {
		q, err := json.Marshal(text)
		if err != nil {
			t.Fatal(err)
		}
		id, err := w.Replica.NewID()
		if err != nil {
			t.Fatal(err)
		}
		w.ImportJSON(id, []byte(`{"name":`+string(q)+`,"site":`+string(q)+`,"rooms":[{"code":"R1","name":`+string(q)+`}],
			"surfaces":[{"code":"W1","kind":"wall","room":"R1","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
		w.Record(pagestest.Idris, jobs.Site, id,
			`{"do":"install","surface":"W1","layer":1,"share":1,"material":`+string(q)+`,"note":`+string(q)+`,"by":`+string(q)+`}`,
			`{"do":"check","surface":"W1","layer":1,"check":"K01","result":"fail","note":`+string(q)+`}`)
	}
	host := serve(t, w)
	rows, err := w.Replica.Jobs(t.Context(), pagestest.Company)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/jobs/ID", "/jobs/ID/s/W1", "/jobs/ID/history", "/jobs/ID/s/W1/1/check/K01", "/jobs/ID/s/W1/section-328.svg"} {
		for _, row := range rows {
			b.show(host, shown{path: strings.Replace(path, "ID", row.ID, 1)})
			if !strings.HasSuffix(path, ".svg") && !strings.Contains(b.text("body"), strings.Join(strings.Fields(row.Name), " ")) {
				t.Errorf("%s does not show %q as it was written", path, row.Name)
			}
		}
	}
	b.quiet(host)
}
