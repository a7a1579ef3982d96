package jobs_test

import (
	"strings"
	"testing"

	"tacet/jobs"
)

// What a record says is read by people: no ids, no code names, no bare numbers.
func TestSaysInWords(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	says := func(want, edge string) jobs.Entry {
		t.Helper()
		e := d.record(edge)
		if got := d.job.Says(d.job.ByID(e.ID)); got != want {
			t.Errorf("%s\nsays %q\nwant %q", edge, got, want)
		}
		return e
	}
	says("Water rushes in the stack. Found by ear (seen)", `{"do":"survey","finding":"Water rushes in the stack. Found by ear.","known":"seen","surface":"C1"}`)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	says("released by the supervisor: K19 screw length, K23 perimeter sealed", `{"do":"release","surface":"C1","layer":3,"checks":["K19","K23"]}`)
	says("measured DnT,w + Ctr 42 dB by us", `{"do":"sound_test","quantity":"dntw_ctr","value_db":42,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"us"}`)
	says("measured L′nT,w 60 dB by us", `{"do":"sound_test","quantity":"lntw","value_db":60,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"us"}`)
	screws := says("K19 fail, number of screws 14, screw length 60 mm", `{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","measured":{"screw_mm":60,"count":14},"evidence":3}`)
	pass := d.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"pass","measured":{"screw_mm":32},"evidence":3}`)
	on := `"on":["` + screws.ID + `","` + pass.ID + `"]`
	says("ruling: what counts is K19 fail, number of screws 14, screw length 60 mm: looked at again", `{"do":"ruling",`+on+`,"keeps":"`+screws.ID+`","reason":"looked at again"}`)
	says("ruling: none of the records counts: nobody measured", `{"do":"ruling",`+on+`,"keeps":"none","reason":"nobody measured"}`)

	// What never came, and rulings that name each other, are said too.
	gone := &jobs.Record{What: &jobs.Ruling{On: []string{"b"}, Keeps: "b", Reason: "so"}}
	if got := d.job.Says(gone); got != "ruling: one record counts that is not here: so" {
		t.Errorf("a ruling for what is not here says %q", got)
	}
	r := d.job.Of("ruling")[0]
	if got := d.job.Says(&jobs.Record{What: &jobs.Ruling{On: []string{r.ID}, Keeps: r.ID, Reason: "so"}}); got != "ruling: another ruling counts: so" {
		t.Errorf("a ruling for a ruling says %q", got)
	}
	for n, want := range map[int]string{1: "1 held record taken in: so", 2: "2 held records taken in: so"} {
		if got := d.job.Says(&jobs.Record{What: &jobs.Admission{On: make([]string, n), Answer: jobs.AnswerAdmit, Reason: "so"}}); got != want {
			t.Errorf("an answer to %d held says %q", n, got)
		}
	}
}

// Every count says what is counted.
func TestCountsSayOfWhat(t *testing.T) {
	counted := 0
	for _, rule := range jobs.CheckRules() {
		for _, m := range rule.Measures {
			if m.Key != "count" {
				continue
			}
			counted++
			if what, ok := strings.CutPrefix(m.Name, "number of "); !ok || what == "" || m.Range.Unit != "" {
				t.Errorf("%s counts %q in %q", rule.Code, m.Name, m.Range.Unit)
			}
		}
	}
	if counted == 0 {
		t.Error("no check counts anything")
	}
}
