package pages_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// The material that the office chose from the list is what the surface, the site's sheet, the order and the one who checks the board read.
func TestChosenMaterialIsNamed(t *testing.T) {
	for id, name := range map[string]string{"plasterboard_dense": "Dense acoustic plasterboard", "dense-board": "dense board"} { // generic, and the firm's own
		w := office(t)
		w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"surface","code":"W7","kind":"wall","width_m":4,"height_m":2.5,"existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}]}`)
		sheet := lantern + "/s/W7/specify"
		v := formOf(t, w, sheet)
		press := func(act string, typed url.Values) *node {
			t.Helper()
			v.Set("act", act)
			for k, x := range typed {
				v[k] = x
			}
			doc := parsePage(t, post(t, w, sheet, v).body)
			for k := range v {
				if strings.HasPrefix(k, "layer.") {
					v.Del(k)
				}
			}
			for k, x := range valuesOf(doc.one(t, ".sheet")) {
				v[k] = x
			}
			return doc
		}
		press("start", url.Values{"build_up": {jobs.BuildUpsFor(jobs.Wall)[0].Code}})
		press("add", url.Values{"add_kind": {"board"}})
		doc := press("list", url.Values{"list_material": {id}, "layer.thickness_mm": {"15"}})
		ls := layersOf(doc)
		n := len(ls)
		if got := ls[n-1].one(t, ".what").words(); !strings.Contains(strings.ToLower(got), strings.ToLower(name)) {
			t.Errorf("the sheet calls it %q", got)
		}
		v.Set("act", "record")
		post(t, w, sheet, v).mustSee(t, lantern+"/s/W7")
		for _, path := range []string{lantern + "/s/W7", lantern + "/take-off", lantern + fmt.Sprintf("/s/W7/%d/check/K01", n)} {
			if got := strings.ReplaceAll(get(t, w, path).body, "\u00a0", " "); !strings.Contains(strings.ToLower(got), strings.ToLower(name)+" 15 mm") {
				t.Errorf("%s says nothing of the %s", path, name)
			}
		}
	}
}

// Who sets out a frame, orders it or measures it reads its specified centres on the page that is open.
func TestSpecifiedCentresStandWhereAFrameIsNamed(t *testing.T) {
	for _, path := range []string{"/s/C1/2/check/K08", "/s/C1", "/s/C1/specify", "/s/C1/2/install"} {
		says := strings.NewReplacer("\u00a0", " ", "\u202f", " ").Replace(page(t, office(t), lantern+path).words())
		if !strings.Contains(says, "lip and channel 25 mm at 400 mm centres") {
			t.Errorf("%s says no centres: %s", path, says)
		}
	}
}
