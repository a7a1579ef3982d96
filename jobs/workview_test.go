package jobs_test

import (
	"encoding/json"
	"strings"
	"testing"

	"tacet/jobs"
)

// The view as JSON has what became of the work, lists as lists and nothing that depends on when it is read.
func TestWorkViewAsJSON(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	empty := string(must(json.Marshal(d.job.View())))
	for _, key := range []string{`"non_conformances":[]`, `"put_right_by_cause":[]`, `"queue":[]`, `"tests":[]`, `"complaints":[]`, `"crew":[]`, `"handed_over":null`, `"follow_ups":[]`, `"costs":[]`, `"not_seen":[]`} {
		if !strings.Contains(empty, key) {
			t.Errorf("%s is not in the view of a new job", key)
		}
	}
	complete(d)
	fail := d.record(`{"do":"check","surface":"C1","layer":5,"check":"K28","result":"fail","measured":{"gap_mm":3}}`)
	d.record(`{"do":"ready","surface":"C1","layer":5,"cover_at":"2026-03-02T14:30:00Z"}`)
	d.record(`{"do":"sound_test","quantity":"dntw_ctr","value_db":41,` + tested + `}`)
	d.record(`{"do":"complaint","words":"thud","kind":"footsteps","received":"2026-06-01"}`)
	d.record(`{"do":"sign","name":"Odette","role":"client","statement":"accepted","what":"all","at":"2026-03-20T09:00:00Z"}`)
	full := string(must(json.Marshal(d.job.View())))
	for _, want := range []string{`"grade":"stop"`, `"found":"` + fail.ID + `"`, `"loss_db":`, `"passes":false`, `"suspects":[{"surface":"C1","layer":5,"check":"K28"`, `"state":"open"`, `"handed_over":"2026-03-20T09:00:00Z"`,
		`"month":12,"at":"2027-03-20T09:00:00Z","state":""`, `"who":"` + d.by + `"`} {
		if !strings.Contains(full, want) {
			t.Errorf("%s is not in the view", want)
		}
	}
}
