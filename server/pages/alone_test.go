package pages_test

import (
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// What is predicted of a lining where nobody recorded what stands behind it says so right under the sentence, on the page of the
// prediction and on the build-up sheet.
func TestAPredictionOfWhatIsAddedAloneSaysSo(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	const id = "018f0000-0000-7000-8000-0000000c0001"
	const lining = `"kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},{"kind":"cavity","depth_mm":65,"fill":{"thickness_mm":50,"density_kg_m3":45},"frame":{"kind":"independent"}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]`
	w.ImportJSON(id, []byte(`{"name":"Canal Row","site":"Marlsea","surfaces":[{"code":"W1",`+lining+`},{"code":"W2","existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}],`+lining+`}]}`))
	w.As(pagestest.Maren, jobs.Supervisor)
	for code, want := range map[string]int{"W1": 1, "W2": 0} {
		for _, path := range []string{"/prediction", "/specify"} {
			doc := page(t, w, "/jobs/"+id+"/s/"+code+path)
			head, _, _ := strings.Cut(doc.one(t, "main").words(), "The three predictions")
			if got := strings.Count(head, "No existing structure is recorded"); got != want || !strings.Contains(head, "Rw") {
				t.Errorf("%s%s says it %d times, want %d: %.400s", code, path, got, want, head)
			}
		}
	}
}
