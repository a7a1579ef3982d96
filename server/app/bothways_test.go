package app_test

import (
	"slices"
	"strings"
	"testing"

	"tacet/server/app"
	"tacet/server/pages"
)

// onPages says on which page the office does what a command does.
var onPages = map[string]string{
	"user add": "/add-person", "user list": "/people", "user password": "/people/:person/password", "user role": "/people/:person/role", "user end": "/people/:person/access",
	"user reinstate": "/people/:person/access", "user drop-factor": "/people/:person/factor", "set-up": "/set-up", "enrol-code": "/people/:person/code", "revoke": "/devices/revoke",
	"device list": "/devices", "access list": "/people/:person/jobs", "access narrow": "/people/:person/jobs", "access widen": "/people/:person/jobs", "access grant": "/people/:person/jobs",
	"access ungrant": "/people/:person/jobs", "aside list": "/waiting", "aside admit": "/aside/:device", "aside refuse": "/aside/:device", "privacy export": "/privacy/export",
	"privacy erase": "/privacy/erase", "privacy old": "/privacy/old", "privacy times": "/privacy/times",
}

// forOperators are the commands that have no page, and why.
var forOperators = map[string]string{
	"serve": "it is what serves pages", "company add": "a firm is let onto a server by whoever runs it", "company list": "no firm sees another", "setup-code": "before there is anybody who could sign in",
	"keys rotate": "the keys are all firms'", "aside import": "a file that a phone's owner brought, read where the server runs", "backup": "files of the machine", "restore": "without a database there are no pages",
	"people-keys": "files of the machine", "rebuild": "the database is all firms'", "verify": "it reads all firms", "doctor": "it looks at the machine", "healthcheck": "for what watches the machine",
}

// onPagesOnly are the acts of the office that have no command, and why.
var onPagesOnly = map[string]string{
	"/guests": "a link is given out by somebody who answers for the job", "/guests/end": "as above", "/account": "one's own", "/notices": "news are the firm's own affair", "/people/:person/data": "by command: privacy export",
	"/privacy/looks": "it is about people's looks, for the owner", "/privacy/search": "by command: privacy export",
}

// What an administrator does by command is done on a page too, or is said to be for operators; and the other way round.
func TestCommandsAndPagesGoBothWays(t *testing.T) {
	names, err := app.CommandNames()
	if err != nil {
		t.Fatal(err)
	}
	served := map[string]bool{}
	for _, p := range pages.Registered() {
		served[p.Path] = true
	}
	for _, name := range names {
		page, why := onPages[name], forOperators[name]
		if (page == "") == (why == "") {
			t.Errorf("server %s: say on which page it is done, or why on none", name)
		}
		if page != "" && !served[page] {
			t.Errorf("server %s: there is no page %s", name, page)
		}
	}
	for name := range onPages {
		if !slices.Contains(names, name) {
			t.Errorf("there is no command %s", name)
		}
	}
	for name := range forOperators {
		if !slices.Contains(names, name) {
			t.Errorf("there is no command %s", name)
		}
	}
	acts := 0
	for _, p := range pages.Registered() {
		admin := slices.ContainsFunc([]string{"/people", "/devices", "/guests", "/aside", "/privacy", "/notices", "/account", "/add-person"}, func(at string) bool { return strings.HasPrefix(p.Path, at) })
		if !admin || p.Post == nil {
			continue
		}
		acts++
		byCommand := false
		for _, page := range onPages {
			byCommand = byCommand || page == p.Path
		}
		why := onPagesOnly[p.Path]
		for at, says := range onPagesOnly {
			if strings.HasPrefix(p.Path, at+"/") {
				why = says
			}
		}
		if byCommand == (why != "") {
			t.Errorf("%s: say by which command it is done, or why by none", p.Path)
		}
	}
	if acts < 15 {
		t.Errorf("only %d pages were looked at", acts)
	}
	t.Logf("evidence: %d commands of the server: %d are on pages, %d are for operators; %d acts of the office on pages", len(names), len(onPages), len(forOperators), acts)
}
