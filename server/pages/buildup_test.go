package pages_test

import (
	"regexp"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A layer that was just added is complained of only when something is written of it, or when it is recorded.
func TestFreshLayerIsNotComplainedOf(t *testing.T) {
	w := office(t)
	sheet := lantern + "/s/W1/specify"
	v := formOf(t, w, sheet)
	press := func(act string) *node {
		v.Set("act", act)
		doc := parsePage(t, post(t, w, sheet, v).body)
		for k, x := range valuesOf(doc.one(t, ".sheet")) {
			v[k] = x
		}
		return doc
	}
	v.Set("add_kind", "board")
	doc := press("add")
	if n := len(doc.all(".warnings")) + len(doc.all(".errors")); n > 0 {
		t.Errorf("%d complaints before anything was written: %s", n, doc.one(t, "main").words())
	}
	if !strings.Contains(doc.one(t, ".lead").words(), "Nothing is written of layer") {
		t.Errorf("nothing says what is left to write: %s", doc.one(t, ".lead").words())
	}
	closed := doc.one(t, ".open").one(t, "details")
	if _, open := closed.attr["open"]; open || len(closed.all("#f-layer-poisson")) != 1 {
		t.Errorf("stiffness and damping are not folded: %v", closed.attr)
	}
	if got := doc.one(t, "input[name=layer.material]").attr["type"]; got != "hidden" {
		t.Errorf("the id of the material is asked for beside the list: %q", got)
	}
	v.Set("layer.thickness_mm", "15")
	if doc = press("show"); len(doc.all(".warnings")) == 0 {
		t.Error("a board without a mass is not complained of once its thickness is written")
	}
	v.Set("layer.thickness_mm", "")
	v.Set("reason", "thicker")
	if doc = press("record"); len(doc.all(".errors")) == 0 {
		t.Error("a layer of nothing was recorded")
	}
	v.Set("layer.thickness_mm", "15")
	v.Set("layer.mass_kg_m2", "10")
	v.Set("layer.poisson", "3")
	doc = press("record")
	if _, open := doc.one(t, ".open").one(t, "details").attr["open"]; !open {
		t.Error("what is wrong is folded away")
	}
}

// What stands in a cavity and what decouples it are each answered by nothing in one way; a clip needs no frame.
func TestCavityWithoutFrame(t *testing.T) {
	w := office(t)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"surface","code":"W7","kind":"wall","width_m":4,"height_m":2.5,"existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}]}`)
	sheet := lantern + "/s/W7/specify"
	v := formOf(t, w, sheet)
	v.Set("act", "add")
	v.Set("add_kind", "cavity")
	doc := parsePage(t, post(t, w, sheet, v).body)
	for _, id := range []string{"#f-layer-frame-kind", "#f-layer-frame-resilient"} {
		var nothing int
		for _, o := range doc.one(t, id).all("option") {
			switch says := o.words(); says {
			case "Nothing":
				nothing++
			case "None", "Neither":
				t.Errorf("%s offers %q", id, says)
			}
		}
		if nothing != 1 {
			t.Errorf("%s offers nothing %d times", id, nothing)
		}
	}
	v = valuesOf(doc.one(t, ".sheet"))
	v.Set("layer.depth_mm", "30")
	v.Set("layer.frame.resilient", "clip")
	v.Set("layer.frame.spacing_mm", "400")
	v.Set("act", "record")
	post(t, w, sheet, v).mustSee(t, lantern+"/s/W7")
	if got := jobs.NameOf(w.JobAs(pagestest.Job).Surface("W7").Specified[0]); !strings.HasPrefix(got, "clip and channel 30 mm") {
		t.Errorf("recorded %q", got)
	}
	// Looking at it and recording it again changes nothing.
	v = formOf(t, w, sheet)
	v.Set("act", "open-1")
	v = valuesOf(parsePage(t, post(t, w, sheet, v).body).one(t, ".sheet"))
	if got := v.Get("layer.frame.kind"); got != "none" {
		t.Errorf("the frame that is none comes back as %q", got)
	}
}

// The warning of an open edge leads to where the edge is written.
func TestEdgeWarningLeadsToTheDetails(t *testing.T) {
	w := office(t)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"surface","code":"W7","kind":"wall","width_m":4,"height_m":2.5,"existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}]}`,
		`{"do":"specify","surface":"W7","specified":[{"kind":"cavity","depth_mm":50},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}`)
	var to string
	for _, a := range page(t, w, lantern+"/s/W7/specify").one(t, ".warnings").all("a") {
		to = a.attr["href"]
	}
	if to != lantern+"/s/W7/2/detail" {
		t.Fatalf("it leads to %q", to)
	}
	if page(t, w, to).one(t, "#f-edge-seal") == nil {
		t.Error("no seal is asked for there")
	}
}

// The form of a surface says which room is meant, what the sides are, and which kinds need which measures.
func TestSurfaceFormSaysWhatItAsks(t *testing.T) {
	w := office(t)
	says := page(t, w, lantern+"/s/W1/describe").one(t, ".form").words()
	for _, want := range []string{"Room that it faces", "listed from side 1 to side 2", "Size of a wall, ceiling, floor or soffit", "Size of a boxing, pipe run or beam"} {
		if !strings.Contains(says, want) {
			t.Errorf("it does not say %q: %s", want, says)
		}
	}
}

// Layers are counted in grammar, numbers below zero have their sign, and every layer has a mark beside its state.
func TestSmallWordsAndMarks(t *testing.T) {
	w := office(t)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"structure","code":"J9","existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}]}`,
		`{"do":"surface","code":"W7","kind":"wall","width_m":4,"height_m":2.5,"existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}]}`,
		`{"do":"specify","surface":"W7","specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}`, `{"do":"install","surface":"W7","layer":1,"share":1}`)
	if says := page(t, w, lantern+"/office").words(); !strings.Contains(says, "1 layer exists.") {
		t.Error("one layer is not counted as one")
	}
	if got := w.JobAs(pagestest.Job).Surface("W7").Layer(1).State; got != jobs.Installed {
		t.Fatalf("the layer is %s", got)
	}
	if state := page(t, w, lantern+"/s/W7").all(".state")[0]; !strings.Contains(strings.ToLower(state.words()), "installed") || len(state.all("svg")) != 1 {
		t.Errorf("beside the state stand the words %q and %d marks", state.words(), len(state.all("svg")))
	}
	signed := 0
	hyphen := regexp.MustCompile(`bias -[0-9]`)
	for _, code := range []string{"C1", "W1", "W7"} {
		says := page(t, w, lantern+"/s/"+code+"/prediction").words()
		if got := hyphen.FindString(says); got != "" {
			t.Errorf("%s: %s", code, got)
		}
		signed += strings.Count(says, "bias −")
	}
	if signed == 0 {
		t.Error("no prediction says a bias below zero: nothing was looked at")
	}
}

// A sheet that is only opened says what stands, and warns of nothing that a change would bring: it names what is specified, not what
// was fitted in its place.
func TestUnchangedSheetSaysWhatStands(t *testing.T) {
	w := office(t)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"respecify","surface":"W1","reason":"plain boards","specified":[
	  {"kind":"cavity","depth_mm":65,"frame":{"kind":"independent"}},
	  {"kind":"board","thickness_mm":15,"mass_kg_m2":12.6,"material":"plasterboard_dense"},
	  {"kind":"board","thickness_mm":12.5,"mass_kg_m2":8}]}`)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"install","surface":"W1","layer":1,"share":1}`)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"check","surface":"W1","layer":1,"check":"K08","result":"pass"}`)
	sheet := lantern + "/s/W1/specify"
	if lead := parsePage(t, get(t, w, sheet).body).one(t, "h1").words(); !strings.HasPrefix(lead, "As specified") {
		t.Errorf("unchanged, it says %q", lead)
	}
	uncounted := func(body string) string {
		return regexp.MustCompile(`not counted for this one: \d+`).FindString(body)
	}
	stands := uncounted(get(t, w, lantern+"/s/W1").body)
	if says := uncounted(get(t, w, sheet).body); says != stands {
		t.Errorf("an unchanged sheet says %q where the surface says %q", says, stands)
	}
	v := formOf(t, w, sheet)
	v.Set("reason", "nothing")
	v.Set("act", "record")
	if r := post(t, w, sheet, v); r.status != 422 || !strings.Contains(r.body, "nothing is changed") {
		t.Errorf("a list that changes nothing was answered with %d", r.status)
	}
	v.Set("act", "open-3")
	doc := parsePage(t, post(t, w, sheet, v).body)
	for k, x := range valuesOf(doc.one(t, ".sheet")) {
		v[k] = x
	}
	v.Set("layer.mass_kg_m2", "9.8")
	v.Set("act", "show")
	body := post(t, w, sheet, v).body
	if says := uncounted(body); !strings.Contains(body, "As written here") || says == "" || says == stands {
		t.Errorf("changed, it does not say what no longer counts: %q, as before", says)
	}
}
