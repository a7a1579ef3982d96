package e2e_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
)

// A phone whose person sees some jobs only: it is offered those alone, follows the log over what is kept from it, and what it records in
// its own job arrives.
func TestPhoneSeesItsJobsOnly(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	other, err := f.server.Replica.NewID()
	if err != nil {
		t.Fatal(err)
	}
	edges, err := jobs.Import([]byte(`{"name":"Canal Row (invented)","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.server.Replica.Record(t.Context(), f.co, jobs.Author{Person: f.owner.Person, Role: jobs.Supervisor}, other, edges); err != nil {
		t.Fatal(err)
	}
	if err := f.server.Accounts.See(t.Context(), f.co, f.site.Person, false); err != nil {
		t.Fatal(err)
	}
	if err := f.server.Accounts.Give(t.Context(), f.co, f.site.Person, f.job, true); err != nil {
		t.Fatal(err)
	}
	dev := f.enrolPhone(b)
	b.hash("#/take")
	b.h1("Which jobs")
	if got := b.text("main"); strings.Contains(got, "Canal Row") {
		t.Errorf("a job that is kept from the person is offered: %q", got)
	}
	if got := eval[string](b, fromPhone(`load('kept.js').then((m) => m.take('`+other+`')).then(() => 'taken', (err) => err.name)`), chromedp.EvalAwaitPromise); got == "taken" {
		t.Error("a job that is kept from the person is given out")
	}
	notes(b, f, 0, 2)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	f.laneOf(dev, 2)
	if got := exchange(b); got != "" {
		t.Errorf("the next exchange ends with %q", got)
	}
}
