package jobs_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
)

const (
	said = "I hear every step of hers, and so does my mother"
	whom = "Mrs Amara Lindqvist, flat 3"
)

// complained is a device on which a complaint was recorded.
func complained(t *testing.T) (*device, jobs.Entry) {
	d := newDevice(t, 1, jobs.Office)
	d.start(`{"name":"Lantern Row","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"existing":[],"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`)
	return d, d.record(`{"do":"complaint","surface":"C1","words":"` + said + `","kind":"footsteps","received":"phone","from":"` + whom + `","severity":7,"note":"` + whom + ` will be in on Friday"}`)
}

// What people said stands in the chain as cipher text only. With the key it reads as before; without it the entry is the same
// entry, everything else in it counts, and what is gone is said to be gone. Another key opens nothing.
func TestWordsAreSealed(t *testing.T) {
	d, e := complained(t)
	for _, secret := range []string{said, "Lindqvist"} {
		if bytes.Contains(e.Env, []byte(secret)) || bytes.Contains(e.Data, []byte(secret)) {
			t.Errorf("the entry holds %q in the clear", secret)
		}
	}
	if c := d.job.Complaints()[0].Complaint; c.Words != said || c.From != whom || !strings.Contains(c.Note, whom) {
		t.Errorf("with the key it reads %+v", c)
	}
	other := slices.Clone(e.Key)
	other[0] ^= 1
	for name, key := range map[string][]byte{"none": nil, "another": other, "short": e.Key[:31]} {
		gone := e
		gone.Key = key
		if _, err := jobs.ParseEntry(gone.Env, gone.Data); err != nil {
			t.Errorf("key %s: %v", name, err)
		}
		var all []jobs.Entry
		for _, x := range d.job.Entries() {
			if x.Hash == e.Hash {
				x = gone
			}
			all = append(all, x)
		}
		j := jobs.Fold(jobID, company, all)
		c := j.Complaints()[0].Complaint
		if c.Words != jobs.Erased || c.From != jobs.Erased || c.Note != jobs.Erased {
			t.Errorf("key %s: it reads %+v", name, c)
		}
		if c.Kind != "footsteps" || *c.Severity != 7 || j.Unread != 0 {
			t.Errorf("key %s: what is not about a person has changed: %+v", name, c)
		}
		if err := jobs.Admit(j, gone); err != nil {
			t.Errorf("key %s: it no longer stands: %v", name, err)
		}
		if with, without := export(t, d.job), export(t, j); len(strings.Split(with, e.Hash.String())) != len(strings.Split(without, e.Hash.String())) || strings.Contains(without, "Lindqvist") {
			t.Errorf("key %s: the settled state lacks the entry, or still says the name", name)
		}
	}
}

// Two records of the same words share neither key nor cipher text: who has one learns nothing of the other.
func TestEachRecordHasItsKey(t *testing.T) {
	d, e := complained(t)
	f := d.record(`{"do":"complaint","words":"` + said + `","kind":"footsteps","received":"phone"}`)
	if bytes.Equal(e.Key, f.Key) || len(f.Key) != jobs.KeySize {
		t.Errorf("keys %x and %x", e.Key, f.Key)
	}
	if plain := d.record(`{"do":"install","surface":"C1","layer":1,"share":1}`); plain.Key != nil || plain.Sealed() {
		t.Error("an entry in which nobody said anything has a key")
	}
}

// Somebody from outside reads what was built and nothing of what people said; what was erased is said to be erased to them too.
func TestWithoutWords(t *testing.T) {
	d, _ := complained(t)
	j := d.job.WithoutWords()
	if out := export(t, j); strings.Contains(out, "Lindqvist") || strings.Contains(out, said) || !strings.Contains(out, jobs.Hidden) {
		t.Errorf("somebody from outside reads %s", out)
	}
	if c := d.job.Complaints()[0].Complaint; c.Words != said {
		t.Errorf("the job itself now reads %q", c.Words)
	}
	if c := j.Complaints()[0].Complaint; c.Kind != "footsteps" || len(j.Records) != len(d.job.Records) {
		t.Errorf("%d records, %+v", len(j.Records), c)
	}
}

// A note on a check, who is named as having done something, and the name and site of a job are sealed like what people said, and can be
// erased; the rules read the record the same with them and without. Somebody from outside reads them: they tell of the work.
func TestNamesAndNotesOfTheWork(t *testing.T) {
	const id = "0197a000-0000-7000-8000-0000000000aa"
	d := newDevice(t, 1, jobs.Supervisor)
	d.start(`{"name":"Lindqvist, Lantern Row","site":"7b Lantern Row, flat 3","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"existing":[],"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`)
	start := d.own[0] // the description of the job: the entries of a job come in no order
	named := d.record(`{"do":"install","surface":"C1","layer":1,"share":1,"by":"Osric Lindqvist","note":"Mrs Lindqvist held the ladder"}`)
	if own := d.record(`{"do":"install","surface":"C1","layer":1,"share":1,"by":"` + id + `","over":"` + named.ID + `"}`); own.Key != nil || !bytes.Contains(own.Data, []byte(id)) {
		t.Errorf("an id of a person is sealed: %s", own.Data)
	}
	var without []jobs.Entry
	for _, e := range d.job.Entries() {
		if bytes.Contains(e.Data, []byte("indqvist")) || bytes.Contains(e.Data, []byte("Lantern")) {
			t.Errorf("%s holds a name in the clear: %s", e.Kind, e.Data)
		}
		if e.Hash == start.Hash || e.Hash == named.Hash {
			e.Key = nil
		}
		without = append(without, e)
	}
	j := jobs.Fold(jobID, company, without)
	if j.Name != jobs.Erased || j.Site != jobs.Erased {
		t.Errorf("erased, the job is %q at %q", j.Name, j.Site)
	}
	if c := j.ByID(named.ID).Common(); c.By != jobs.Erased || c.Note != jobs.Erased {
		t.Errorf("erased, the record reads %+v", c)
	}
	if out := export(t, j); strings.Contains(out, "Lindqvist") || j.Unread != 0 {
		t.Errorf("erased, it exports %s", out)
	}
	if guest := d.job.WithoutWords(); guest.Name != "Lindqvist, Lantern Row" || guest.ByID(named.ID).Common().Note == jobs.Hidden {
		t.Errorf("somebody from outside reads %q", guest.Name)
	}
}

func TestErasure(t *testing.T) {
	d, e := complained(t)
	erase := `{"do":"erasure","of":["` + e.ID + `"],"reason":"asked"}`
	site := newDevice(t, 2, jobs.Site)
	site.takes(d)
	if _, err := site.try(erase); err == nil {
		t.Error("site may erase")
	}
	x := d.record(erase)
	if got := x.Erases(); len(got) != 1 || got[0] != e.Hash {
		t.Errorf("it erases %v", got)
	}
	if got := d.job.Says(d.job.ByID(x.ID)); got != "words of people erased: the person asked for it" {
		t.Errorf("it says %q", got)
	}
	for _, bad := range []string{`"of":[]`, `"of":["` + x.ID + `"]`, `"of":["0197a000-0000-7000-8000-00000000ffff"]`} {
		if _, err := d.try(`{"do":"erasure",` + bad + `,"reason":"asked"}`); err == nil {
			t.Errorf("%s is taken", bad)
		}
	}
}

// A field for what people said or who they are must not be forgotten: in the kinds that tell of people, every text is sealed or
// named here with what it is.
func TestEveryTextOfPeopleIsLookedAt(t *testing.T) {
	plain := map[string]string{
		"do": "the kind", "at": "a time", "taken": "times of the photos",
		"complaint.kind": "of noise", "complaint.received": "when", "complaint.how": "a choice", "complaint.stage": "of a procedure", "complaint.answer_by": "a time",
		"outcome.outcome": "a choice", "outcome.cause": "a choice", "outcome.confidence": "a choice", "outcome.closed_by": "a choice",
		"enquiry.asks": "a choice", "enquiry.heard": "choices", "enquiry.rooms": "of the building", "enquiry.how_often": "of the noise", "enquiry.since": "of the noise",
		"enquiry.cannot_promise": "what the firm says", "enquiry.deadline": "of the job", "enquiry.budget": "of the job", "enquiry.test_required_by": "of the job",
		"follow_up.room": "of the building", "follow_up.when": "choices", "follow_up.compared": "a choice",
		"quote.currency": "of the quote", "quote.valid_until": "a time", "quote.variation": "of the quote", "quote.assumes": "of the quote",
		"sign.role": "of the person, not who it is", "sign.statement": "a choice", "sign.what": "what is accepted", "sign.flanking": "a way of sound", "sign.means": "a choice",
		"sign_off.not_seen": "of the building",
	}
	for _, kind := range jobs.Kinds() {
		sealed := jobs.SealedFields(kind)
		for _, f := range []string{"by", "note"} {
			if !slices.Contains(sealed, f) {
				t.Errorf("%s.%s is not sealed", kind, f)
			}
		}
		if len(sealed) == 2 {
			continue // it tells of the building and the work
		}
		for _, field := range jobs.TextFields(kind) {
			if !slices.Contains(sealed, field) && plain[field] == "" && plain[kind+"."+field] == "" {
				t.Errorf("%s.%s: seal it, or say here what it is if it is not a person's", kind, field)
			}
		}
	}
	for kind, fields := range map[string][]string{"job": {"name", "site"}, "complaint": {"words", "from", "times"}, "enquiry": {"name", "words"}, "sign": {"name"}, "note": {"text"}} {
		for _, f := range fields {
			if !slices.Contains(jobs.SealedFields(kind), f) {
				t.Errorf("%s.%s is not sealed", kind, f)
			}
		}
	}
}
