package jobs

import (
	"cmp"
	"maps"
	"slices"
)

// Hold notes an entry that a rule holds back. It is no part of the state; it is there so that a supervisor can answer it.
func (j *Job) Hold(e Entry) {
	if j.held == nil {
		j.held = map[string]Entry{}
	}
	j.held[e.ID] = e
}

// Held lists the entries that wait for a supervisor, oldest first. Where the body is held back too, only the envelope
// is known.
func (j *Job) Held() []Entry {
	return slices.SortedFunc(maps.Values(j.held), func(a, b Entry) int {
		return cmp.Or(a.before(&b.Envelope), cmp.Compare(a.ID, b.ID))
	})
}

// Entries lists all entries of the job as they were written, those included that only say again what another says.
func (j *Job) Entries() []Entry {
	es := make([]Entry, 0, len(j.all))
	for _, r := range j.all {
		es = append(es, *j.asWritten(r))
	}
	return es
}

// asWritten is the entry of a record before its references were read as others.
func (j *Job) asWritten(r *Record) *Entry {
	if e, changed := j.written[r.Hash]; changed {
		return e
	}
	return r.Entry
}

// readable tells why the record could not be built with an entry: its body is out of range. One that is not understood
// does no harm: nothing is concluded from it.
func readable(e Entry) error {
	what, err := open(e)
	if err != nil || what == nil {
		return nil
	}
	return what.Valid()
}

// AnswerTo gives what an entry that is an admission says of one that is held, and its reason; nothing where it does not name that one by
// its hash, where it may not say that, or where nobody could read the record with it. The log and the job ask here.
func (e Entry) AnswerTo(held Entry) (answer, reason string) {
	if e.Kind != "admission" || !e.names(held.Hash, Sees) {
		return "", ""
	}
	what, err := open(e)
	d, ok := what.(*Admission)
	if err != nil || !ok || d.Answer == AnswerAdmit && (e.By == held.By || readable(held) != nil) {
		return "", ""
	}
	return d.Answer, d.Reason
}

// Answered tells what supervisors of the job have said of an entry that is not part of it: the last word counts.
func (j *Job) Answered(e Entry) (answer, reason string) {
	for _, r := range j.Of("admission") {
		if a, why := r.AnswerTo(e); a != "" {
			answer, reason = a, why
		}
	}
	return answer, reason
}
