package pages_test

import (
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// crawl follows every link from the first page and shows each HTML page once. It only ever gets.
func crawl(t *testing.T, w *pagestest.World, look func(path string, r reply, doc *node)) (visited int) {
	t.Helper()
	seen := map[string]bool{}
	todo := []string{"/", "/waiting", "/s"}
	for len(todo) > 0 {
		path := todo[0]
		todo = todo[1:]
		if seen[path] {
			continue
		}
		seen[path] = true
		r := get(t, w, path)
		if r.status != http.StatusOK {
			t.Errorf("GET %s: %d", path, r.status)
			continue
		}
		visited++
		if !strings.HasPrefix(r.header.Get("Content-Type"), "text/html") {
			continue
		}
		doc := parsePage(t, r.body)
		look(path, r, doc)
		for _, attr := range []string{"href", "src", "srcset"} {
			for _, n := range doc.all("[" + attr + "]") {
				target, _, _ := strings.Cut(n.attr[attr], "#")
				switch {
				case target == "":
				case !strings.HasPrefix(target, "/"):
					t.Errorf("%s leads off the host: %s", path, target)
				case !seen[target]:
					todo = append(todo, target)
				}
			}
		}
	}
	return visited
}

func TestCrawl(t *testing.T) {
	w := lanternWorld(t)
	w.Crowd()
	w.Office()
	var reached []string
	for _, who := range []struct {
		person string
		role   jobs.Role
	}{{pagestest.Idris, jobs.Site}, {pagestest.Maren, jobs.Supervisor}} {
		w.As(who.person, who.role)
		before := len(w.JobAs(pagestest.Job).Records) + len(w.JobAs(pagestest.Crowded).Records)
		visited := crawl(t, w, func(path string, r reply, doc *node) {
			checkMarkup(t, path, doc)
			checkHeaders(t, path, r)
			reached = append(reached, path)
		})
		if visited < 100 {
			t.Errorf("%s reached %d addresses, expected more than 100", who.role, visited)
		}
		if after := len(w.JobAs(pagestest.Job).Records) + len(w.JobAs(pagestest.Crowded).Records); after != before {
			t.Errorf("looking at pages recorded %d entries", after-before)
		}
	}
	// A page that no link leads to is found by nobody.
	for _, p := range pages.Registered() {
		if p.Get == nil || p.View == nil || p.When != nil && !p.When(pages.Deps{Program: pages.Client}) {
			continue
		}
		at := regexp.MustCompile("^" + parameter.ReplaceAllString(regexp.QuoteMeta(p.Path), "[^/?]+") + `(\?|$)`)
		if led, otherwise := slices.ContainsFunc(reached, at.MatchString), ledOtherwise[p.Path] != ""; led == otherwise {
			t.Errorf("%s: a link leads there: %v; in the list of pages that are found otherwise: %v", p.Path, led, otherwise)
		}
	}
}

var parameter = regexp.MustCompile(`:[a-z]+`)

// ledOtherwise are the pages to which no link leads in the record of the tests, with what does.
var ledOtherwise = map[string]string{
	"/s/:code":                         "the code on a sheet",
	"/jobs/:job/held":                  "a link where a record is held",
	"/jobs/:job/complaint/:over/again": "a link where a complaint is closed",
	"/jobs/:job/photos/:sha/erase":     "a link for the office and an owner, on each photo",
}

// checkMarkup checks what every page has to keep to.
func checkMarkup(t *testing.T, path string, doc *node) {
	t.Helper()
	if n := len(doc.all("h1")); n != 1 {
		t.Errorf("%s: %d headings of the first rank", path, n)
	}
	if doc.one(t, "html").attr["lang"] != "en-GB" || doc.one(t, "title").words() == "" {
		t.Errorf("%s: no language or no title", path)
	}
	ids := map[string]bool{}
	for _, n := range doc.all("[id]") {
		if id := n.attr["id"]; ids[id] {
			t.Errorf("%s: two elements are called %s", path, id)
		} else {
			ids[id] = true
		}
	}
	labels := map[string]bool{}
	for _, n := range doc.all("label") {
		labels[n.attr["for"]] = true
		for _, inner := range n.all("[id]") {
			labels[inner.attr["id"]] = true
		}
	}
	for _, tag := range []string{"input", "textarea", "select"} {
		for _, n := range doc.all(tag) {
			if n.attr["type"] != "hidden" && !labels[n.attr["id"]] {
				t.Errorf("%s: %s %s has no label", path, tag, n.attr["name"])
			}
		}
	}
	for _, n := range doc.all("[aria-describedby]") {
		for id := range strings.FieldsSeq(n.attr["aria-describedby"]) {
			if !ids[id] {
				t.Errorf("%s: described by %s, which is not there", path, id)
			}
		}
	}
	for _, n := range doc.all("a") {
		if target, ok := strings.CutPrefix(n.attr["href"], "#"); ok && !ids[target] {
			t.Errorf("%s: a link leads to #%s, which is not there", path, target)
		}
		if n.words() == "" && len(n.all("img")) == 0 {
			t.Errorf("%s: a link without words", path)
		}
	}
	for _, n := range doc.all("img") {
		if _, ok := n.attr["alt"]; !ok {
			t.Errorf("%s: a picture without words", path)
		}
	}
	for _, tag := range []string{"label", "legend"} {
		for _, n := range doc.all(tag) {
			if says := n.words(); asks.MatchString(says) && !strings.HasSuffix(says, "?") {
				t.Errorf("%s: %q asks without a question mark", path, says)
			}
		}
	}
	for _, n := range doc.all("form[method=post]") {
		// Sending, signing out and reading a photo change nothing the second time.
		again := slices.Contains([]string{"/waiting", "/sign-out", "/s"}, n.attr["action"])
		if !again && len(n.all("input[name=form]")) != 1 {
			t.Errorf("%s: the form to %q has nothing by which a second tap is known", path, n.attr["action"])
		}
	}
	// the page of evidence quotes what tests have said, as they said it
	if m := slip.FindString(doc.words()); m != "" && !strings.HasPrefix(path, "/evidence") {
		t.Errorf("%s: it says %q", path, m)
	}
	checkNothingInline(t, path, doc)
}

// asks finds a question: the verb stands before what it is asked of. Labels name what is filled in.
var asks = regexp.MustCompile(`^(?:(?:What|Who|How|Which|Where|When|Why) )?(?i:is|are|was|were|does|do|did|has|have|may) (?:it|they|you|the|a|this|there)\b`)

// slip finds one thing in the plural, and a sentence that ends twice.
var slip = regexp.MustCompile(`(?:^|[^\pL\d.,] ?)1 (?:records|layers|checks|surfaces|jobs|photos|entries|days|changes|rooms|sheets|pieces|devices|questions|things|materials|prices|findings|targets|faults|tests|hours|minutes|years|months|people|prints|equals|trys|screws|clips|packs|rolls|tubes)\b|\pL\.\.(?:[^.]|$)`)

// checkNothingInline finds scripts and styles in the page itself, which the page's own policy would refuse to run.
func checkNothingInline(t *testing.T, path string, doc *node) {
	t.Helper()
	var look func(n *node)
	look = func(n *node) {
		if n.tag == "style" || n.tag == "script" && n.attr["src"] == "" || slices.Contains([]string{"iframe", "object", "embed", "base"}, n.tag) {
			t.Errorf("%s: a %s in the page itself", path, n.tag)
		}
		for key, value := range n.attr {
			if key == "style" || strings.HasPrefix(key, "on") || slices.Contains([]string{"href", "src", "action", "srcset"}, key) && !strings.HasPrefix(value, "/") && !strings.HasPrefix(value, "#") {
				t.Errorf("%s: %s=%q on %s", path, key, value, n.tag)
			}
		}
		for _, k := range n.kids {
			look(k)
		}
	}
	look(doc)
}

func checkHeaders(t *testing.T, path string, r reply) {
	t.Helper()
	for key, want := range map[string]string{
		// The policy that the security notes of the project ask for.
		"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
		"X-Content-Type-Options":  "nosniff",
		"Referrer-Policy":         "same-origin",
	} {
		if got := r.header.Get(key); got != want {
			t.Errorf("%s: %s is %q", path, key, got)
		}
	}
}

// hostile are texts that would do something if they were not escaped.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `'><svg/onload=alert(1)>`, `</title><script>alert(1)</script>`,
	`{{.}}<b>`, `javascript:alert(1)`, `</textarea><script>alert(1)</script>`, `--><script>alert(1)</script>`, "<!--", `&lt;script&gt;`,
	`" autofocus onfocus="alert(1)`, `<style>*{display:none}</style>`, `<a href="javascript:alert(1)">x</a>`, `\u003cscript\u003e`,
}

// Hostile text reaches every place where people write text: it is shown as it was written, and does nothing.
func TestHostileText(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	for _, h := range hostile {
		q := quote(h)
		id, err := w.Replica.NewID()
		if err != nil {
			t.Fatal(err)
		}
		w.ImportJSON(id, []byte(`{"name":`+q+`,"site":`+q+`,"targets":[{"quantity":"rw","value_db":50,"source":`+q+`}],
			"rooms":[{"code":"R1","name":`+q+`}],"structures":[{"code":"J1","name":`+q+`,"existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}]}],
			"surfaces":[{"code":"W1","kind":"wall","room":"R1","structure":"J1","side":1,"width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
		w.Record(pagestest.Idris, jobs.Site, id,
			`{"do":"substitute","surface":"W1","layer":1,"state":"asked","reason":`+q+`,"note":`+q+`,"by":`+q+`,"layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8}}`,
			`{"do":"install","surface":"W1","layer":1,"share":1,"material":`+q+`,"note":`+q+`,"by":`+q+`}`,
			`{"do":"check","surface":"W1","layer":1,"check":"K01","result":"fail","note":`+q+`,"certificate":`+q+`}`,
			`{"do":"note","surface":"W1","text":`+q+`}`,
			`{"do":"caution","code":"load","answer":`+q+`,"decided_by":`+q+`}`,
			`{"do":"sign","name":`+q+`,"role":`+q+`,"statement":"declined","what":`+q+`}`)
		w.Record(pagestest.Pavo, jobs.Site, id, `{"do":"check","surface":"W1","layer":1,"check":"K01","result":"pass","note":`+q+`}`)
		shown := 0
		w.As(pagestest.Maren, jobs.Supervisor)
		w.Visitor.Firm, w.Visitor.Name = h, h
		for _, path := range []string{"", "/s/W1", "/disputes", "/history", "/s/W1/history", "/s/W1/1/check/K01", "/s/W1/1/substitute", "/s/W1/1/answer", "/s/W1/note"} {
			r := get(t, w, "/jobs/"+id+path)
			if r.status != http.StatusOK {
				t.Fatalf("%s with %q: %d", path, h, r.status)
			}
			doc := parsePage(t, r.body)
			checkNothingInline(t, path, doc)
			if strings.Contains(doc.words(), strings.Join(strings.Fields(h), " ")) {
				shown++
			}
		}
		if shown < 8 {
			t.Errorf("%q is shown as written on %d of 9 pages", h, shown)
		}
		for _, path := range []string{"/office", "/survey", "/describe", "/room/R1", "/structures/J1", "/structures/J1/existing", "/s/W1/specify", "/s/W1/prediction", "/tests", "/handover", "/non-conformances", "/take-off", "/quote"} {
			r := get(t, w, "/jobs/"+id+path)
			if r.status != http.StatusOK {
				t.Fatalf("%s with %q: %d", path, h, r.status)
			}
			checkNothingInline(t, path, parsePage(t, r.body))
		}
		for _, path := range []string{"/s/W1/section-328.svg", "/s/W1/mini.svg"} {
			r := get(t, w, "/jobs/"+id+path)
			checkNothingInline(t, path, parsePage(t, r.body))
			if !strings.Contains(r.header.Get("Content-Security-Policy"), "sandbox") {
				t.Errorf("%s may run what is in it", path)
			}
		}
	}
	// Text that comes back in a form that has to be corrected, and in the address.
	for _, h := range hostile {
		r := post(t, w, "/jobs/"+w.FirstJob()+"/s/W1/1/check/K01", map[string][]string{"note": {h}, "by": {h}, "certificate": {h}, "result": {h}})
		if r.status != http.StatusUnprocessableEntity {
			t.Fatalf("check with result %q: %d", h, r.status)
		}
		doc := parsePage(t, r.body)
		checkNothingInline(t, "a form to correct", doc)
		if got := doc.one(t, "textarea").text; got != h {
			t.Errorf("typed %q came back as %q", h, got)
		}
		checkNothingInline(t, "code", parsePage(t, get(t, w, "/s?code="+urlQuery(h)).body))
	}
}
