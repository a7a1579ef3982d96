package app_test

import (
	"fmt"
	"image/color"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/pages"
	"tacet/sync/replica"
)

// A job with names that stand nowhere else.
const keptAway = `{"name":"Kiln Yard (invented)","site":"Ropewalk Seven","surfaces":[{"code":"ZQ9","kind":"ceiling","width_m":4,"height_m":3,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`

// Every page, form and route of the protocol that the server has, asked by a supervisor from whom one job is kept: with that job in the
// address, and with one that is given. None tells of the job that is kept. The list of addresses is the server's own.
func TestAKeptJobIsNowhere(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	given, over, _ := jobToTry(t, w.enrol(w.co, "site.one", jobs.Site))
	site := w.enrol(w.co, "site.two", jobs.Site)
	r := site.record()
	edges, err := jobs.Import([]byte(keptAway))
	if err != nil {
		t.Fatal(err)
	}
	kept, err := r.NewID()
	if err == nil {
		_, err = r.Record(t.Context(), w.co.ID, site.author(), kept, edges)
	}
	if err != nil {
		t.Fatal(err)
	}
	site.do(r, kept, `{"do":"install","surface":"ZQ9","layer":1,"share":1,"mass_kg_m2":12.6}`)
	site.do(r, kept, `{"do":"ready","surface":"ZQ9","layer":1}`)
	photo, err := site.blobs.Put(t.Context(), w.co.ID, picture(t, color.Gray{33}))
	if err != nil {
		t.Fatal(err)
	}
	site.do(r, kept, `{"do":"photo","surface":"ZQ9","file":"`+photo.String()+`"}`)
	site.sync(r)
	if _, err := w.Accounts.AddGuest(t.Context(), accounts.Who{Company: w.co.ID, Person: site.answer.Person}, kept, "Ropewalk client", time.Hour); err != nil {
		t.Fatal(err)
	}
	links, err := w.Accounts.Guests(t.Context(), w.co.ID)
	if err != nil || len(links) != 1 {
		t.Fatal(links, err)
	}
	judge := w.enrol(w.co, "a.judge", jobs.Supervisor)
	desk := w.signIn("a.judge")
	tells := func(r response) string {
		all := string(r.body)
		for _, list := range r.header {
			all += strings.Join(list, " ")
		}
		for _, word := range []string{"Kiln", "Ropewalk", "ZQ9", kept, links[0].ID} {
			if strings.Contains(all, word) {
				return word
			}
		}
		return ""
	}
	code := jobs.SheetCode(kept, "ZQ9")
	for _, path := range []string{"/", "/queue", "/guests", "/s/" + code} { // else the test below would find nothing anywhere
		if tells(desk.get(path)) == "" {
			t.Fatalf("before it is kept, %s does not tell of it", path)
		}
	}
	if err := w.Accounts.Give(t.Context(), w.co.ID, judge.answer.Person, kept, false); err != nil {
		t.Fatal(err)
	}
	firm := map[string]bool{}
	for _, p := range pages.Registered() {
		firm[p.Path] = p.Firm
	}
	param := regexp.MustCompile(`:(\w+)`)
	known := map[string]string{"layer": "1", "check": "K01", "over": over, "width": "328", "family": "lining", "chart": "complaints", "what": "jobs", "person": judge.answer.Person,
		"sha": photo.String(), "code": code}
	tried, closed := 0, 0
	for _, route := range w.Routes() {
		if route.Method == fiber.MethodHead || strings.HasPrefix(route.Path, "/sign-") || strings.HasSuffix(route.Path, "/live") || strings.HasPrefix(route.Path, "/account/end") {
			continue
		}
		for _, job := range []string{kept, given} {
			known["job"], known["surface"] = job, "C1"
			if job == kept {
				known["surface"] = "ZQ9"
			}
			at := param.ReplaceAllStringFunc(route.Path, func(name string) string { return known[name[1:]] })
			var r response
			switch {
			case strings.HasPrefix(at, "/v1/"):
				r = w.call(request{method: route.Method, path: at, token: judge.answer.AccessToken})
			case route.Method == fiber.MethodGet:
				r = desk.get(at)
			default:
				r = desk.post(at, url.Values{"job": {kept}, "guest": {links[0].ID}, "words": {"kiln"}, "name": {"x"}, "days": {"3"}, "text": {"x"}}, nil)
			}
			tried++
			if word := tells(r); word != "" && !(strings.HasPrefix(at, "/v1/access") && word == kept) { // a device is told what it no longer has
				t.Errorf("%s %s: %d, tells %q", route.Method, at, r.status, word)
			}
			if strings.Contains(route.Path, ":job") && job == kept && r.status < 400 {
				t.Errorf("%s %s: %d", route.Method, at, r.status)
			}
			if strings.HasSuffix(route.Path, "/photos/:sha") && route.Method == fiber.MethodGet && r.status == 200 {
				t.Errorf("the photo of the kept job at %s", at)
			}
			if firm[route.Path] {
				closed++
				if r.status != 403 {
					t.Errorf("%s %s tells of all jobs: %d", route.Method, at, r.status)
				}
			}
			if !strings.Contains(route.Path, ":job") {
				break
			}
		}
	}
	if tried < 150 || closed < 8 {
		t.Errorf("%d tried, %d of them about all jobs", tried, closed)
	}
	if links, err := w.Accounts.Guests(t.Context(), w.co.ID); err != nil || len(links) != 1 || links[0].Ended {
		t.Errorf("the links of guests: %+v, %v", links, err)
	}
	for _, path := range []string{"/s/" + code, "/s/" + jobs.SheetCode(given, "none")} {
		if r := desk.get(path); r.status != 422 || !strings.Contains(string(r.body), "No surface here has the code") {
			t.Errorf("%s: %d", path, r.status)
		}
	}
	if err := w.Accounts.Give(t.Context(), w.co.ID, judge.answer.Person, kept, true); err != nil {
		t.Fatal(err)
	}
	if r := desk.get("/outcomes"); r.status != 200 {
		t.Errorf("outcomes for whoever sees all: %d", r.status)
	}
}

// A photo comes to a job that was taken away only with an entry of one's own, recorded before or held: with a colleague's entry it is not
// taken, whole or in pieces, and nobody learns whether it is there.
func TestPhotosOfAJobTakenAway(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		a, b := w.enrol(w.co, "site.one", jobs.Site), w.enrol(w.co, "site.two", jobs.Site)
		ra, rb := a.record(), b.record()
		job := a.importJob(ra)
		a.sync(ra)
		b.sync(rb)
		record := func(d *tablet, r *replica.Replica, shade uint8) (string, []byte) {
			t.Helper()
			data := picture(t, color.Gray{shade})
			h, err := d.blobs.Put(t.Context(), w.co.ID, data)
			if err != nil {
				t.Fatal(err)
			}
			d.do(r, job, `{"do":"photo","surface":"C1","file":"`+h.String()+`"}`)
			if _, err := r.Push(t.Context(), d.http); err != nil { // the entry alone: its photo waits
				t.Fatal(err)
			}
			return h.String(), data
		}
		theirs, theirData := record(a, ra, 10)
		before, beforeData := record(b, rb, 20)
		if err := w.Accounts.Give(t.Context(), w.co.ID, b.answer.Person, job, false); err != nil {
			t.Fatal(err)
		}
		held, heldData := record(b, rb, 30)
		put := func(d *tablet, sha string, data []byte, query string) int {
			return w.call(request{method: "PUT", path: "/v1/jobs/" + job + "/photos/" + sha + query, token: d.answer.AccessToken, body: data, media: "image/jpeg"}).status
		}
		for _, query := range []string{"", fmt.Sprintf("?at=0&of=%d", len(theirData))} {
			if got := put(b, theirs, theirData, query); got != 404 {
				t.Errorf("a colleague's photo, %q: %d", query, got)
			}
		}
		if got := put(a, theirs, theirData, ""); got != 200 {
			t.Errorf("its author brings it: %d", got)
		}
		if got := put(b, theirs, theirData, ""); got != 404 {
			t.Errorf("what is there already is told of: %d", got)
		}
		if got := put(b, before, beforeData, ""); got != 200 {
			t.Errorf("a photo of what was recorded before: %d", got)
		}
		if got := put(b, held, heldData, fmt.Sprintf("?at=0&of=%d", len(heldData))); got != 200 {
			t.Errorf("a photo of what is held: %d", got)
		}
	})
}

// The office gives and takes jobs on a page of its own, as the commands do.
func TestJobsAreGivenOnAPage(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	job, _, _ := jobToTry(t, w.enrol(w.co, "site.one", jobs.Site))
	u, boss := w.user(w.co, "a.judge", jobs.Supervisor), w.user(w.co, "an.owner", jobs.Owner)
	w.user(w.co, "the.office", jobs.Office)
	judge, office := w.signIn("a.judge"), w.signIn("the.office")
	at := "/people/" + u.Person + "/jobs"
	if r := office.get("/people/" + u.Person); !strings.Contains(string(r.body), at) {
		t.Error("no link from the person")
	}
	for _, step := range []struct {
		say  url.Values
		sees bool
		page string
	}{
		{nil, true, "Sees 1 of 1 job."},
		{url.Values{"job": {job}, "may": {"no"}}, false, "Taken away from them."},
		{url.Values{"job": {job}, "may": {"yes"}}, true, "Given to them."},
		{url.Values{"all": {"no"}}, true, "Sees only the jobs given"},
		{url.Values{"job": {job}, "may": {"no"}}, false, "Sees 0 of 1 job."},
		{url.Values{"all": {"yes"}}, false, "Sees all jobs but those taken away"},
		{url.Values{"job": {job}, "may": {"yes"}}, true, "Take it away"},
	} {
		if step.say != nil {
			if r := office.post(at, step.say, nil); r.status != 303 || r.header.Get("Location") != at {
				t.Errorf("%v: %d", step.say, r.status)
			}
		}
		if r := judge.get("/jobs/" + job); (r.status == 200) != step.sees || !step.sees && r.status != 404 {
			t.Errorf("after %v the job: %d", step.say, r.status)
		}
		if r := office.get(at); r.status != 200 || !strings.Contains(string(r.body), step.page) {
			t.Errorf("after %v the page does not say %q: %d", step.say, step.page, r.status)
		}
	}
	if r := office.post(at, url.Values{"find": {"canal"}}, nil); r.status != 200 || !strings.Contains(string(r.body), job) {
		t.Errorf("found: %d", r.status)
	}
	if r := office.post(at, url.Values{"find": {"no such"}}, nil); r.status != 200 || strings.Contains(string(r.body), job) {
		t.Errorf("not found: %d", r.status)
	}
	for status, r := range map[int]response{
		422: office.post(at, nil, nil),
		404: office.post(at, url.Values{"job": {"none"}, "may": {"yes"}}, nil),
		403: judge.get(at),
	} {
		if r.status != status {
			t.Errorf("%d, want %d", r.status, status)
		}
	}
	owner := w.signIn("an.owner")
	theirs := "/people/" + boss.Person + "/jobs"
	if r := owner.get(theirs); r.status != 200 || strings.Contains(string(r.body), "Take it away") {
		t.Errorf("an owner's: %d", r.status)
	}
	if r := owner.post(theirs, url.Values{"all": {"no"}}, nil); r.status != 422 {
		t.Errorf("narrowing an owner: %d", r.status)
	}
}
