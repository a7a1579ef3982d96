package pages_test

import (
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// fresh is the demonstration house as it was imported, before anything was done.
const (
	fresh     = "018f0000-0000-7000-8000-0000000f0001"
	freshPath = "/jobs/" + fresh
)

// plainly puts ordinary spaces where the page has thin ones.
func plainly(s string) string { return strings.ReplaceAll(s, "\u202f", " ") }

// Whoever answers a substitution sees what it does first: in the queue in one line, on its page side by side. Sums are arithmetic on the
// demonstration house: 33.0 - 12.6 + 9.8 = 30.2 kg/m², 8 % less.
func TestEffectBeforeTheAnswer(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.Import(fresh, "lantern-row.json")
	w.Record(pagestest.Idris, jobs.Site, fresh, `{"do":"substitute","surface":"W1","layer":2,"state":"asked","layer_new":{"kind":"board","thickness_mm":12.5,"mass_kg_m2":9.8},"reason":"one pallet came as standard board"}`)
	w.As(pagestest.Maren, jobs.Supervisor)
	for _, path := range []string{"/queue", freshPath + "/s/W1"} {
		if says := plainly(page(t, w, path).words()); !strings.Contains(says, "33 → 30.2 kg/m², −2.8 (−8 %)") || !strings.Contains(says, "mm, −2.5") || !strings.Contains(says, "Rw ") {
			t.Errorf("%s: %s", path, says)
		}
	}
	doc := page(t, w, freshPath+"/s/W1/2/substitute")
	says := plainly(doc.one(t, "dl.asked").words())
	for _, want := range []string{"Mass of the layer 12.6 → 9.8 kg/m²", "Mass added by the surface 33 → 30.2 kg/m²", "Thickness added", "A sum, no judgement", "Screw of layer 2", "Predicted without it", "Predicted with it"} {
		if !strings.Contains(says, want) {
			t.Errorf("the page lacks %q: %s", want, says)
		}
	}
}

// A yes to a layer names and releases what it hides of the whole surface; a yes that was given elsewhere and does not name it hides nothing.
func TestYesNamesWhatItHides(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.Import(fresh, "lantern-row.json")
	w.As(pagestest.Maren, jobs.Supervisor)
	ceiling := freshPath + "/s/C1"
	s := w.JobAs(fresh).Surface("C1")
	var behind []string
	for _, c := range s.ChecksOf(0) {
		if c.Rule.Stop && c.State != jobs.CheckPassed && (c.Rule.Stage == "background" || c.Rule.Stage == "services" || c.Rule.Stage == "fire") {
			behind = append(behind, c.Rule.Code)
		}
	}
	if len(behind) == 0 {
		t.Fatal("C1 asks for nothing behind its layers")
	}
	w.Record(pagestest.Idris, jobs.Site, fresh, `{"do":"install","surface":"C1","layer":1,"share":1}`, `{"do":"ready","surface":"C1","layer":1}`)
	var codes []string
	for _, c := range w.JobAs(fresh).Surface("C1").Layer(1).Open {
		codes = append(codes, `"`+c.Rule.Code+`"`)
	}
	if len(codes) > 0 {
		w.Record(pagestest.Maren, jobs.Supervisor, fresh, `{"do":"release","surface":"C1","layer":1,"checks":[`+strings.Join(codes, ",")+`]}`)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, fresh, `{"do":"audit","surface":"C1","layer":1,"answer":"cover"}`)
	kept := page(t, w, ceiling)
	if says := kept.one(t, "h1").words(); !strings.Contains(says, "Do not cover layer 1: ") || !strings.HasSuffix(says, " of the whole surface are open.") {
		t.Errorf("after a yes that named nothing: %s", says)
	}
	if list := kept.all(".still"); len(list) == 0 || !strings.HasPrefix(list[0].words(), behind[0]+" ") {
		t.Errorf("what it hides is not named beneath: %s", kept.words())
	}
	hint := page(t, w, ceiling+"/1/answer").words()
	if !strings.Contains(hint, "This also releases, by your word: ") || !strings.Contains(hint, behind[0]+" ") {
		t.Errorf("the answer does not say what it hides: %s", hint)
	}
	form := url.Values{"answer": {"cover"}, "note": {"photos of all three came by mail"}}
	for _, n := range page(t, w, ceiling+"/1/answer").one(t, "form").all("input[type=hidden]") {
		form.Add(n.attr["name"], n.attr["value"])
	}
	post(t, w, ceiling+"/1/answer", form).mustSee(t, ceiling)
	if says := page(t, w, ceiling).one(t, "h1").words(); strings.Contains(says, "Do not cover") {
		t.Errorf("after a yes that named it: %s", says)
	}
}
