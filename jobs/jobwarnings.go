package jobs

import (
	"fmt"
	"strings"
)

// jobWarnings says what is wrong or missing with the job as a whole, the gravest first.
func (j *Job) jobWarnings() []string {
	var ws []string
	ws = append(ws, j.baselineWarnings()...)
	for _, t := range j.Targets {
		if strings.TrimSpace(t.Source) == "" {
			ws = append(ws, fmt.Sprintf("the target of %s dB has no source: say which rule, lease or agreement asks for it", trim(t.ValueDB)))
		}
	}
	for _, t := range j.Targets {
		if t.Surface != "" && j.Surface(t.Surface) == nil {
			ws = append(ws, "a target is for surface "+t.Surface+", which the job does not have: it judges nothing")
		}
		if t.Room != "" && j.Room(t.Room) == nil {
			ws = append(ws, "a target is for room "+t.Room+", which the job does not have: it judges nothing")
		}
	}
	ws = append(ws, j.enquiryWarnings()...)
	return append(ws, j.openFindings()...)
}

// baselineWarnings is about the one thing that can never be collected later: how the client judged the noise before.
func (j *Job) baselineWarnings() []string {
	begun := j.firstWork("install")
	near := begun
	if near == nil {
		near = j.firstWork("deliver")
	}
	r := j.lastElsewhere("baseline")
	if r == nil {
		switch {
		case begun != nil:
			return []string{"NO BASELINE: work began without asking the client to rate the noise from 0 to 10. How it was before is never collectable later"}
		case near != nil:
			return []string{"NO BASELINE: material is here and work is about to start. Ask the client now to rate each kind of noise from 0 to 10: it is never collectable later"}
		case j.Enquiry() != nil:
			return []string{"no baseline yet: before work starts, have the client rate each kind of noise from 0 to 10"}
		}
		return nil
	}
	d := r.What.(*Baseline)
	if d.Answers.NoReply {
		return []string{"the baseline got no reply: what the work changed will stay unknown in the client's own judgement"}
	}
	var ws []string
	if begun != nil && r.DoneAt().After(begun.DoneAt()) {
		ws = append(ws, "the baseline was taken after work began: it does not say how it was before")
	}
	if e := j.Enquiry(); e != nil {
		for _, h := range e.Heard {
			if d.Answers.Rated(h) == nil {
				ws = append(ws, "the baseline leaves out "+h+", which the client complained of")
			}
		}
	}
	return ws
}

// firstWork is the first record in force of a kind, wherever it stands.
func (j *Job) firstWork(kind string) *Record {
	for _, r := range j.kinds[kind] {
		if r.What != nil && j.InForce(r) {
			return r
		}
	}
	return nil
}

func (j *Job) enquiryWarnings() []string {
	e := j.Enquiry()
	if e == nil {
		return nil
	}
	var ws []string
	if e.LeaseConsent == KnownNo || e.LeaseConsent == KnownUnknown {
		ws = append(ws, "the lease or the landlord has not consented yet; whoever owns the structure decides")
	}
	if e.Listed == KnownYes || e.Listed == KnownUnknown {
		ws = append(ws, "listed building or conservation area: "+map[Known]string{KnownYes: "consent comes first", KnownUnknown: "nobody has found out yet"}[e.Listed])
	}
	if e.TestRequiredBy != "" && len(j.Targets) == 0 {
		ws = append(ws, "a test is required by "+e.TestRequiredBy+", but the job has no target")
	}
	return ws
}
