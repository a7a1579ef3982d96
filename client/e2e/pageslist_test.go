package e2e_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// shown is a page in a state: where it is, and what is done there before it is looked at.
type shown struct {
	path string
	send string // a form's button that is tapped first: the form is empty, so it has to be corrected
}

// everyPage lists the pages of a role, full, empty, with everything disputed, and with something to correct.
func everyPage(w *pagestest.World, role jobs.Role) []shown {
	of := func(kind string) string {
		if rs := w.JobAs(pagestest.Job).Of(kind); len(rs) > 0 {
			return rs[len(rs)-1].ID
		}
		return "none"
	}
	fault, photo := "none", "none"
	for _, r := range w.JobAs(pagestest.Job).Of("check") {
		if len(r.Blobs) > 0 {
			photo = lantern + "/photos/" + r.Blobs[0].String() + "/of/" + r.ID
		}
		if c := r.What.(*jobs.CheckResult); c.Check == "K32" && c.Result == jobs.Fail {
			fault = r.ID
		}
	}
	if role == jobs.Supervisor { // what looks other than for a fitter
		return []shown{{path: "/"}, {path: lantern + "/s/C1"}, {path: crowded + "/s/C9"}, {path: "/queue"}, {path: lantern + "/s/C1/3/answer"},
			{path: lantern + "/s/C1/3/answer", send: ".do"}, {path: lantern + "/held"}, {path: lantern + "/s/C1/3/release"}, {path: lantern + "/s/C1/3/release", send: ".do"},
			{path: lantern + "/disputes"}, {path: lantern + "/disputes", send: ".do"}, {path: crowded + "/disputes"},
			{path: "/new-job"}, {path: "/new-job", send: ".do"}, {path: lantern}, {path: lantern + "/office"}, {path: lantern + "/describe"}, {path: lantern + "/room"}, {path: lantern + "/room", send: ".do"},
			{path: lantern + "/structures/J1"}, {path: lantern + "/structures/J1/existing"}, {path: lantern + "/surface"}, {path: lantern + "/surface", send: ".do"}, {path: lantern + "/s/W1/describe"},
			{path: lantern + "/s/W1/specify"}, {path: lantern + "/s/W1/specify", send: "[value=open-2]"}, {path: lantern + "/s/W1/specify", send: ".do"}, {path: crowded + "/s/W13/specify"}, {path: lantern + "/s/W1/prediction"},
			{path: lantern + "/s/C1/3/detail"}, {path: lantern + "/survey"}, {path: lantern + "/enquiry"}, {path: lantern + "/baseline"}, {path: lantern + "/baseline", send: ".do"}, {path: lantern + "/finding"},
			{path: lantern + "/s/W1/flanking"}, {path: lantern + "/s/W1/sign"}, {path: lantern + "/tests"}, {path: lantern + "/test"}, {path: lantern + "/test", send: ".do"}, {path: lantern + "/handover"},
			{path: lantern + "/sign-off"}, {path: lantern + "/follow-up/3"}, {path: lantern + "/complaint"}, {path: lantern + "/take-off"}, {path: lantern + "/quotes"}, {path: lantern + "/quote"},
			{path: lantern + "/return"}, {path: lantern + "/non-conformances"}, {path: crowded + "/office"}, {path: crowded + "/take-off"}, {path: crowded + "/handover"},
			{path: "/firm"}, {path: "/firm/material"}, {path: "/firm/price"}, {path: "/firm/targets/own"}, {path: "/firm/take-off"}, {path: "/firm/rule"}, {path: "/guide"}, {path: "/?find=lantern"},
			{path: "/firm/material/dense-board"}, {path: "/firm/price/clip"}, {path: "/firm/targets"}, {path: "/evidence"}, {path: "/evidence/published/sigma"}, {path: "/evidence/runs"}, {path: lantern + "/caution/fire"}, {path: lantern + "/caution/fire", send: ".do"},
			{path: lantern + "/complaint/" + of("complaint") + "/again"}, {path: lantern + "/complaint/" + of("complaint") + "/outcome"}, {path: lantern + "/room/R1"}, {path: lantern + "/rule"},
			{path: lantern + "/right/" + of("sound_test")}, {path: lantern + "/sign"}, {path: lantern + "/structure"}, {path: lantern + "/s/C1/3/sign-off"}, {path: lantern + "/s/C1/sign-off"}, {path: lantern + "/s/W1/existing"},
			{path: lantern + "/s/W1/quote"}}
	}
	return []shown{
		{path: "/"}, {path: "/s"}, {path: "/s", send: ".do"}, {path: "/guide"}, {path: "/s/ABC"}, {path: "/nothing"}, {path: "/waiting"},
		{path: lantern}, {path: lantern + "/disputes"}, {path: lantern + "/history"}, {path: lantern + "/note"}, {path: lantern + "/note", send: ".do"},
		{path: lantern + "/s/C1"}, {path: lantern + "/s/W1"}, {path: lantern + "/s/F1"}, {path: lantern + "/s/X1"}, {path: lantern + "/s/C1/history"},
		{path: lantern + "/s/C1/4/install"}, {path: lantern + "/withdraw/none"}, {path: lantern + "/s/C1/3/check/K23"},
		{path: lantern + "/s/C1/3/check/K23", send: ".do"}, {path: lantern + "/s/C1/0/check/K02"}, {path: lantern + "/s/C1/3/ready"},
		{path: lantern + "/s/C1/5/cover"}, {path: lantern + "/s/C1/5/substitute"}, {path: lantern + "/s/C1/5/deliver"}, {path: lantern + "/s/C1/2/substitute", send: ".do"},
		{path: lantern + "/s/C1/note?layer=2"}, {path: lantern + "/s/C1/caution/load"},
		{path: crowded}, {path: crowded + "/s/W12"}, {path: crowded + "/s/W13"}, {path: crowded + "/s/C9"}, {path: crowded + "/s/B1"}, {path: crowded + "/disputes"},
		{path: photo}, {path: lantern + "/photo"}, {path: lantern + "/photo", send: ".do"}, {path: lantern + "/s/C1/photo"}, {path: lantern + "/s/C1/typed"}, {path: lantern + "/s/C1/typed", send: ".do"}, {path: crowded + "/s/W12/typed"},
		{path: lantern + "/s/F1/right/" + fault}, {path: lantern + "/s/F1/right/" + fault, send: ".do"}, {path: lantern + "/withdraw/" + of("install")}, {path: lantern + "/caution/asbestos"},
	}
}

// elsewhere are the pages that other tests look at, by the rules of accessibility too: those that need years of work, and a photo that an
// owner erases. What exists on a server only is looked at on a real one.
var elsewhere = map[string]string{
	"/outcomes": "TestOutcomesAreSeen", "/outcomes-correction": "TestOutcomesAreSeen", "/outcomes/:family": "TestOutcomesAreSeen", "/outcomes/:family/review": "TestOutcomesAreSeen",
	"/jobs/:job/photos/:sha/erase": "TestDeskPages",
}

// No page is left out: whoever registers one puts it in the list.
func TestEveryPageIsLookedAt(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.Lantern()
	w.Crowd()
	w.Office()
	host := serve(t, w)
	var list []string
	for person, role := range map[string]jobs.Role{pagestest.Idris: jobs.Site, pagestest.Maren: jobs.Supervisor} {
		w.As(person, role)
		for _, s := range everyPage(w, role) {
			path, _, _ := strings.Cut(s.path, "?")
			r, err := http.Get("http://" + host + s.path)
			if err != nil {
				t.Fatal(err)
			}
			r.Body.Close()
			// Looked at too: what is said of an address that leads nowhere, and of a code with a typing error.
			wrong := path == "/nothing" || path == "/s/ABC" || path == lantern+"/withdraw/none"
			if (r.StatusCode != http.StatusOK) != wrong {
				t.Errorf("%s: %d", path, r.StatusCode)
			}
			if r.StatusCode == http.StatusNotFound {
				continue
			}
			list = append(list, path)
		}
	}
	parameter := regexp.MustCompile(`:[a-z]+`)
	for _, p := range pages.Registered() {
		if p.Get == nil || p.View == nil || p.When != nil && !p.When(pages.Deps{Program: pages.Client}) || elsewhere[p.Path] != "" {
			continue
		}
		pattern := regexp.MustCompile("^" + parameter.ReplaceAllString(regexp.QuoteMeta(p.Path), "[^/]+") + "$")
		found := false
		for _, path := range list {
			found = found || pattern.MatchString(path)
		}
		if !found {
			t.Errorf("%s is looked at by nobody", p.Path)
		}
	}
}
