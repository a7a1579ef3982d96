package pages_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// The texts of the status line: what happened, what is safe, what to do. Wording: our own.
func TestStatusWords(t *testing.T) {
	at := time.Date(2026, 11, 25, 14, 5, 0, 0, time.UTC)
	for _, c := range []struct {
		link     pages.Link
		entries  int
		photos   int
		says, do string
	}{
		{pages.Link{}, 3, 0, "Saved on this device. It is not joined to an office.", ""},
		{pages.Link{State: pages.LinkDone, Checked: at}, 0, 0, "All changes sent. Last checked 14:05.", ""},
		{pages.Link{State: pages.LinkDone, Checked: at}, 14, 0, "Saved on this device, 14 changes to send. Last checked 14:05.", "Send now"},
		{pages.Link{State: pages.LinkDone, Checked: at}, 0, 1, "Saved on this device, 1 photo to send. Last checked 14:05.", "Send now"},
		{pages.Link{State: pages.LinkSending}, 14, 2, "Sending 14 changes and 2 photos. You can keep working.", ""},
		{pages.Link{State: pages.LinkOffline}, 0, 0, "No connection. Your work is saved here and will be sent later.", ""},
		{pages.Link{State: pages.LinkOffline}, 1, 0, "Saved on this device, 1 change to send. No connection. Your work is saved here and will be sent later.", "Send now"},
		{pages.Link{State: pages.LinkSignIn}, 14, 0, "Saved on this device, 14 changes to send. Sign in to send. Nothing is lost.", "Send now"},
		{pages.Link{State: pages.LinkOld}, 0, 0, "Update needed before sending. You can keep recording.", ""},
		{pages.Link{State: pages.LinkCutOff}, 3, 0, "Saved on this device, 3 changes to send. This device was removed from the firm. What was not sent is kept for your supervisor.", ""},
		{pages.Link{State: pages.LinkTrouble, Says: "The clock is 2 h wrong"}, 0, 0, "Sending stopped: the clock is 2 h wrong. Everything is kept.", ""},
	} {
		says, do := pages.StatusWords(c.link, c.entries, c.photos)
		if says != c.says || do != c.do {
			t.Errorf("%v, %d entries, %d photos: %q %q, want %q %q", c.link, c.entries, c.photos, says, do, c.says, c.do)
		}
	}
}

// Numbers: arithmetic.
func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v      float64
		places int
		want   string
	}{{12.6, 2, "12.6"}, {12, 2, "12"}, {0, 1, "0"}, {-0.001, 1, "0"}, {2.55, 1, "2.5"}, {1e6, 2, "1000000"}} {
		if got := pages.Decimal(c.v, c.places); got != c.want {
			t.Errorf("%v to %d places is %q, want %q", c.v, c.places, got, c.want)
		}
	}
	for p, want := range map[float64]string{0.77: "77 %", 0.995: "above 99 %", 0.001: "below 1 %", 0.5: "50 %"} {
		if got := strings.ReplaceAll(pages.Chance(p), "\u202f", " "); got != want {
			t.Errorf("a chance of %v is %q, want %q", p, got, want)
		}
	}
	for u, want := range map[float64]string{0.2: "1", 3.6: "4", 4.4: "4"} {
		if got := pages.Uncertainty(u); got != want {
			t.Errorf("an uncertainty of %v dB is %q, want %q", u, got, want)
		}
	}
}

// Every photo rule of the checks can be said.
func TestPhotoWords(t *testing.T) {
	for _, rule := range jobs.CheckRules() {
		got := pages.PhotoWords(rule.Photo)
		if rule.Photo != "-" && (got == "None asked for." || got == "") {
			t.Errorf("%s: the photo rule %q is not put into words", rule.Code, rule.Photo)
		}
	}
}

// The answer of a surface through its life.
func TestAnswers(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.ImportJSON(pagestest.Job, []byte(`{"name":"Answers","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"specified":[
		{"kind":"cavity","depth_mm":16,"frame":{"kind":"none","resilient":"bar","mass_kg_m2":1}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},
		{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},{"code":"W2","kind":"wall","width_m":1,"height_m":2.5}]}`))
	says := func(want string) {
		t.Helper()
		if got := strings.ReplaceAll(page(t, w, c1).one(t, "h1").words(), "\u202f", " "); got != want {
			t.Errorf("the page says %q, want %q", got, want)
		}
	}
	open := func(want ...string) {
		t.Helper()
		links := page(t, w, c1).all(".still")[0].all("a") // directly beneath the answer; those it does not count follow, closed
		got := make([]string, len(links))
		for i, a := range links {
			got[i] = a.words()
			if !strings.HasSuffix(a.attr["href"], "/check/"+got[i][:3]) {
				t.Errorf("%s leads to %s", got[i], a.attr["href"])
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("open are %q, want %q", got, want)
		}
	}
	record := func(edge string) { t.Helper(); w.Record(pagestest.Idris, jobs.Site, pagestest.Job, edge) }
	says("Layer 1 may go on.")
	record(`{"do":"install","surface":"C1","layer":1,"share":0.5}`)
	says("Layer 1 is in place over 50 %. The rest may go on.")
	record(`{"do":"install","surface":"C1","layer":1,"share":0.5}`)
	says("Do not cover layer 1: 1 check is open.")
	open("K09 Bars the right way up")
	record(`{"do":"check","surface":"C1","layer":1,"check":"K09","result":"pass","evidence":1}`)
	says("Do not cover layer 1: 2 checks of the whole surface are open.")
	open("K02 Holes filled", "K13 Cables") // there is no board yet that could be of the wrong kind
	if got := page(t, w, lantern).one(t, "a[href="+c1+"]").words(); !strings.Contains(got, "2 checks of the whole surface are open. K02 holes filled, K13 cables") {
		t.Errorf("the row of the job says %q", got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"release","surface":"C1","layer":0,"checks":["K02","K13","K42"]}`)
	says("Do not cover layer 1 yet: K09, bars the right way up, passed, but said so only. It needs a photo, or the supervisor's yes.")
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"C1","layer":1,"answer":"cover"}`)
	// Behind a 16 mm bar: 15 + 10 = 25 to 15 + 16 - 3 = 28 mm, so 25 fits. Common practice, no source.
	says("Layer 2 may go on. Screw 25 mm.")
	record(`{"do":"install","surface":"C1","layer":2,"share":1}`)
	says("Do not cover layer 2: 2 checks are open.")
	open("K19 Screw length", "K23 Perimeter sealed")
	record(`{"do":"check","surface":"C1","layer":2,"check":"K19","result":"fail","evidence":1}`)
	says("Put layer 2 right first: K19 screw length.")
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"release","surface":"C1","layer":2,"checks":["K19","K23"]}`)
	fail := w.JobAs(pagestest.Job).Surface("C1").Check("K19", 2).Heads[0].ID
	record(`{"do":"put_right","over":"` + fail + `","cause":"material","hours":1}`)
	says("Layer 3 may go on.")
	record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	// 15 + 2.5 + 15 behind a 16 mm bar has no stock screw: 42.5 to 45.5 mm. Common practice, no source.
	says("Layer 4 may go on. No stock screw fits 42.5 to 45.5 mm.")
	if got := page(t, w, lantern+"/s/W2").one(t, "h1").words(); got != "Nothing is specified yet." {
		t.Errorf("a surface without layers says %q", got)
	}
}

// A prediction says its quantity, its uncertainty, the target and the chance, and what it can't say. Numbers: made up.
func TestForecastWords(t *testing.T) {
	n := func(v float64) *float64 { return &v }
	rw := 55
	at := jobs.Forecast{RwDB: &rw, UDB: n(3.4), USiteDB: n(4.2), DnTwCtrDB: n(46), DnTwDB: n(53), LnTwDB: n(58), PMeets: n(0.77),
		Target: &jobs.Target{Quantity: jobs.DnTwCtr, ValueDB: 43}}
	for _, c := range []struct {
		change func(*jobs.Forecast)
		want   string
	}{
		{func(*jobs.Forecast) {}, "As specified: DnT,w + Ctr 46 dB ± 4, target 43, chance of passing 77 %."},
		{func(f *jobs.Forecast) { f.FlankingUnknown = true },
			"As specified: DnT,w + Ctr 46 dB ± 4, target 43, chance of passing at most 77 %."},
		{func(f *jobs.Forecast) { f.DnTwCtrDB, f.PMeets = nil, nil }, "As specified: Rw 55 dB ± 3."},
		{func(f *jobs.Forecast) { f.Target, f.PMeets = nil, nil }, "As specified: DnT,w 53 dB ± 4."},
		{func(f *jobs.Forecast) { *f = jobs.Forecast{Notes: []string{"nothing is installed yet"}} }, "As specified: nothing is installed yet."},
	} {
		f := at
		c.change(&f)
		if got := strings.ReplaceAll(pages.ForecastSentence("As specified", f), "\u202f", " "); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	impact := []jobs.Target{{Quantity: jobs.DnTw, ValueDB: 43}, {Quantity: jobs.LnTw, ValueDB: 64}}
	if got := strings.ReplaceAll(pages.ImpactSentence(at, impact), "\u202f", " "); !strings.HasPrefix(got, "Impact sound 58 dB L′nT,w, limit 64 dB;") {
		t.Errorf("of footsteps it says %q", got)
	}
	if got := pages.ImpactSentence(at, impact[:1]); got != "" {
		t.Errorf("without a limit for footsteps it says %q", got)
	}
}

// The headline of a prediction is one sentence; what has to be known with it stands under it in plain type.
func TestPredictionHeadline(t *testing.T) {
	w := office(t)
	for code, under := range map[string]string{"C1": "Impact sound ", "W1": "Flanking is not known and left out"} {
		main := page(t, w, lantern+"/s/"+code+"/prediction").one(t, "main")
		head := main.one(t, "h1").words()
		if strings.Count(head, ".") != 1 || !strings.Contains(head, "target 43, chance of passing") {
			t.Errorf("%s: the headline %q", code, head)
		}
		if lead := main.one(t, ".lead").words(); !strings.Contains(lead, under) {
			t.Errorf("%s: under the headline %q, without %q", code, lead, under)
		}
	}
}
