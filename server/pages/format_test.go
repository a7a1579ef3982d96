package pages_test

import (
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A quantity reads the same wherever it stands: the mass of a layer on its line and in its form, a share on the page and in the record, a target in the
// sentence of the prediction and beside the test that fails by half a decibel.
func TestAQuantityReadsTheSameEverywhere(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	const id = "018f0000-0000-7000-8000-00000000a092"
	w.ImportJSON(id, []byte(`{"name":"Rounding","targets":[{"quantity":"dntw_ctr","value_db":43.5}],"rooms":[{"code":"R1","volume_m3":30}],
		"surfaces":[{"code":"W1","kind":"wall","room":"R1","width_m":4,"height_m":2.5,"flanking":[],"existing":[{"kind":"masonry","thickness_mm":102.5,"mass_kg_m2":180}],
		"specified":[{"kind":"cavity","depth_mm":65,"frame":{"kind":"independent","spacing_mm":600,"mass_kg_m2":0.87},"fill":{"thickness_mm":50,"density_kg_m3":45}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	at := "/jobs/" + id
	says := func(path string) string {
		return strings.ReplaceAll(page(t, w, at+path).one(t, "main").words(), "\u202f", " ")
	}
	hold := func(path string, wants ...string) {
		t.Helper()
		got := strings.ReplaceAll(says(path), " kg/m²", "kg/m²")
		for _, want := range wants {
			if !strings.Contains(got, want) {
				t.Errorf("%s does not say %q: %s", path, want, got)
			}
		}
	}
	hold("/s/W1", " 3.12 specified", "43.5")
	hold("/s/W1/1/install", "3.12kg/m²")
	hold("/s/W1/prediction", "target 43.5, chance")
	post(t, w, at+"/s/W1/1/install", url.Values{"share": {"60.5"}, "note": {"Agreed on the phone"}}).mustSee(t, at+"/s/W1")
	hold("/s/W1", "60.5 %")
	hold("/history", "60.5 % in place")
	post(t, w, at+"/test", url.Values{"quantity": {"dntw_ctr"}, "value_db": {"43"}, "source_room": {"a"}, "receiving_room": {"b"}, "surfaces": {"W1"}, "body": {"An invented tester"}}).mustSee(t, at+"/tests")
	hold("/tests", "fails, limit 43.5 dB, short by 0.5 dB")
	hold("", "target 43.5 dB: failed")
}
