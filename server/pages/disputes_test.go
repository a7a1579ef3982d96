package pages_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// A job in which everything is disputed, with photos and long notes: each part of the list stays light, every dispute is in one of them, and
// one of a later part is ruled on there.
func TestManyDisputes(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.Crowd()
	list := "/jobs/" + pagestest.Crowded + "/disputes"
	photo := w.Photo()
	note := strings.Repeat("The bead is open behind the batten, seen with the lamp from below. ", 6)
	for i := range 12 {
		w.Record(pagestest.Idris, jobs.Site, pagestest.Crowded, fmt.Sprintf(`{"do":"install","surface":"W12","layer":%d,"share":1}`, i+1))
	}
	for _, c := range w.JobAs(pagestest.Crowded).Surface("W12").Checks {
		for person, result := range map[string]string{pagestest.Idris: "pass", pagestest.Pavo: "fail"} {
			w.Record(person, jobs.Site, pagestest.Crowded, fmt.Sprintf(`{"do":"check","surface":"W12","layer":%d,"check":%q,"result":%q,"evidence":2,"note":%q,"photos":[%q]}`, c.Layer, c.Rule.Code, result, note, photo))
		}
	}
	all := len(w.JobAs(pagestest.Crowded).Disputes)
	if all < 90 {
		t.Fatalf("only %d disputes", all)
	}
	shared := styleAndScripts(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	heaviest, last, seen := 0, "", map[string]bool{}
	for path := list; path != ""; {
		r := get(t, w, path)
		heaviest = max(heaviest, len(r.body)+shared)
		doc := parsePage(t, r.body)
		if got := doc.one(t, "h1").words(); !strings.HasPrefix(got, fmt.Sprintf("%d disputes.", all)) {
			t.Errorf("%s says %q", path, got)
		}
		for _, f := range doc.all("form.form") {
			var on []string
			for _, n := range f.all("input[name=on]") {
				on = append(on, n.attr["value"])
			}
			if seen[strings.Join(on, " ")] {
				t.Errorf("%s shows a dispute again", path)
			}
			seen[strings.Join(on, " ")] = true
		}
		last, path = path, ""
		for _, a := range doc.all("a") {
			if strings.HasPrefix(a.words(), "The next ") {
				path = a.attr["href"]
			}
		}
	}
	shown := 0
	for _, is := range seen {
		if is {
			shown++
		}
	}
	if shown != all {
		t.Errorf("%d disputes of %d are shown", shown, all)
	}
	if heaviest > 100<<10 {
		t.Errorf("the heaviest part is %d bytes with style and scripts, at most 100 kB", heaviest)
	}
	t.Logf("%d disputes, the heaviest part %d bytes with style and scripts", all, heaviest)
	form := url.Values{}
	first := page(t, w, last).all("form.form")[0]
	for _, n := range first.all("input[type=hidden]") {
		form.Add(n.attr["name"], n.attr["value"])
	}
	if doc := refused(t, post(t, w, last, form)); len(doc.all(".errors")) != 1 || len(doc.all("form.form")) == 0 {
		t.Error("a ruling without a choice is not shown again beside its dispute")
	}
	form.Set("keeps", "none")
	form.Set("reason", "Looked at again together.")
	if r := post(t, w, last, form); r.status != 303 {
		t.Fatalf("the ruling: %d", r.status)
	}
	if now := len(w.JobAs(pagestest.Crowded).Disputes); now != all-1 {
		t.Errorf("then there are %d disputes of %d", now, all)
	}
	first = page(t, w, list).all("form.form")[0]
	form = url.Values{"reason": {"Looked at it."}, "form": {first.one(t, "input[name=form]").attr["value"]}}
	for _, n := range first.all("input[name=on]") {
		form.Add("on", n.attr["value"])
	}
	keeps := first.all("input[name=keeps]")[0]
	form.Set("keeps", keeps.attr["value"])
	kept := w.JobAs(pagestest.Crowded).ByID(keeps.attr["value"])
	if r := post(t, w, list, form); r.status != 303 {
		t.Fatalf("the second ruling: %d", r.status)
	}
	history := page(t, w, "/jobs/"+pagestest.Crowded+"/history").words()
	for _, want := range []string{"Ruling: none of the records counts: Looked at again together.", "Ruling: what counts is " + w.JobAs(pagestest.Crowded).Says(kept) + ": Looked at it."} {
		if !strings.Contains(history, want) {
			t.Errorf("the history does not say %q", want)
		}
	}
}

func TestRuling(t *testing.T) {
	w := lanternWorld(t)
	disputes := lantern + "/disputes"
	if n := len(page(t, w, disputes).all("form")); n != 0 {
		t.Error("a fitter may rule")
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	doc := page(t, w, disputes)
	if got := doc.one(t, "h1").words(); got != "1 dispute. Everything is kept until a supervisor rules." {
		t.Errorf("the page says %q", got)
	}
	sides := doc.one(t, "ol.sides")
	for _, want := range []string{"K28 pass, width of the gap 4 mm", "K28 fail, width of the gap 3 mm, length 1.2 m", "Pavo Lindqvist-Rao", "Idris Vaugh", "Open at the north edge.", "said so", "photo and measured"} {
		if !strings.Contains(sides.words(), want) {
			t.Errorf("the sides do not say %q: %s", want, sides.words())
		}
	}
	form := url.Values{}
	for _, n := range doc.all("input[name=on]") {
		form.Add("on", n.attr["value"])
	}
	form.Set("reason", "opened: it was sealed on three sides only")
	refused(t, post(t, w, disputes, form))
	form.Set("keeps", form["on"][1])
	post(t, w, disputes, form).mustSee(t, lantern+"/s/W1")
	j := w.JobAs(pagestest.Job)
	if len(j.Disputes) != 0 || j.Surface("W1").Check("K28", 4).State != jobs.CheckFailed {
		t.Errorf("%d disputes are left, K28 is %s", len(j.Disputes), j.Surface("W1").Check("K28", 4).State)
	}
	// The form was of yesterday: it is shown again as things stand, and nothing is recorded.
	before := len(j.Records)
	post(t, w, disputes, form).mustSee(t, disputes)
	if after := len(w.JobAs(pagestest.Job).Records); after != before {
		t.Error("a ruling on what is no longer disputed was recorded")
	}
}

// Where two layer lists or descriptions stand against each other, the page spells out what they say.
func TestDisputedListsAreSpeltOut(t *testing.T) {
	w := lanternWorld(t)
	j := w.JobAs(pagestest.Job)
	lines := pages.Particulars(j.Surface("X1").List)
	if len(lines) != 4 || lines[2] != "3 Plasterboard, standard 12.5 mm, 8\u202fkg/m²" {
		t.Errorf("the list says %q", lines)
	}
	for _, r := range j.Records {
		if d, ok := r.What.(*jobs.DescribeSurface); ok && d.Code == "X1" {
			if got := strings.Join(pages.Particulars(r), "; "); got != "code: X1; girth m: 0.6; kind: boxing; length m: 2.6; room: R1" {
				t.Errorf("the description says %q", got)
			}
		}
	}
}
