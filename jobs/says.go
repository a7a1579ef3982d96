package jobs

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Says tells in one line what a record says.
func (j *Job) Says(r *Record) string {
	if w, ok := r.What.(interface{ says() string }); ok {
		return w.says()
	}
	switch w := r.What.(type) {
	case nil:
		return "recorded by a newer version"
	case *CheckResult:
		says := w.Check + " " + strings.ReplaceAll(string(w.Result), "_", " ")
		for _, key := range slices.Sorted(maps.Keys(w.Measured)) {
			says += fmt.Sprintf(", %s %s", measureName(w.Check, key), trim(w.Measured[key])+unitOf(w.Check, key))
			if in := j.Outside(r, key); in != nil && w.Result == Pass { // the mark goes wherever the answer is read
				says += ", " + in.Misses()
			}
		}
		return says
	case *Install:
		says := percent(*w.Share) + " in place"
		if w.MassKgM2 != nil {
			says += ", " + trim(*w.MassKgM2) + " kg/m²"
		}
		if w.Material != "" {
			says += ", " + w.Material
		}
		return says
	case *Deliver:
		return w.says()
	case *Ready:
		return "ready to be seen"
	case *Cover:
		return "covered"
	case *Photo:
		return "photo"
	case *Substitute:
		says := "substitution " + strings.ReplaceAll(string(w.State), "_", " ")
		if w.LayerNew != nil {
			says += ": " + NameOf(*w.LayerNew)
			if m := w.LayerNew.MassKgM2(); m > 0 {
				says += ", " + trim(m) + " kg/m²"
			}
		}
		if w.Reason != "" {
			says += "; " + w.Reason
		}
		return says
	case *Audit:
		return map[AuditAnswer]string{AnswerCover: "may be covered", AnswerPutRight: "put this right first", AnswerComing: "the supervisor is coming"}[w.Answer]
	case *Release:
		return "released by the supervisor: " + namesOfChecks(w.Checks)
	case *PutRight:
		return fmt.Sprintf("put right, %s h, cause: %s", trim(value(w.Hours)), strings.ReplaceAll(string(w.Cause), "_", " "))
	case *Ruling:
		return "ruling: " + j.keeps(w) + ": " + w.Reason
	case *Admission:
		if w.Answer == AnswerAdmit {
			return fmt.Sprintf("%d held records taken in: %s", len(w.On), w.Reason)
		}
		return fmt.Sprintf("%d held records not taken: %s", len(w.On), w.Reason)
	case *Withdraw:
		return "withdrawn: " + w.Reason + j.whatWas(r)
	case *Describe:
		return "job: " + w.Name
	case *DescribeRoom:
		return "room " + w.Code + " " + w.Name
	case *DescribeStructure:
		return "structure " + w.Code + " " + w.Name
	case *DescribeSurface:
		return strings.ReplaceAll(string(w.Kind), "_", " ") + " " + w.Code
	case *Specify:
		return Count(len(w.Specified), "layer") + " specified"
	case *Respecify:
		return Count(len(w.Specified), "layer") + " specified anew: " + w.Reason
	case *Caution:
		return w.Code + ": " + strings.TrimRight(w.Answer, ". ") + ". Decided by " + w.DecidedBy
	case *Sign:
		return w.Name + ", " + w.Role + ", " + w.Statement + ": " + w.What
	case *Survey:
		return w.Finding + " (" + w.Known + ")"
	case *SoundTest:
		return fmt.Sprintf("measured %s %s dB by %s", QuantityName(w.Quantity), trim(value(w.ValueDB)), w.Body)
	case *Complaint:
		return "complaint: " + w.Words
	case *Outcome:
		return "outcome: " + strings.ReplaceAll(w.Outcome, "_", " ")
	case *Review:
		if w.Flag == FlagCleared {
			return "family " + w.Family + " no longer marked for review: " + w.Reason
		}
		return "family " + w.Family + " marked for review: " + w.Reason
	case *Correction:
		if *w.On {
			return "predictions shown beside the firm's own outcomes: " + w.Reason
		}
		return "predictions no longer shown beside the firm's own outcomes: " + w.Reason
	case *Note:
		return w.Text
	}
	return r.Kind
}

// whatWas names what a record takes back, with its place, in brackets.
func (j *Job) whatWas(r *Record) string {
	for _, h := range r.Refers(Over) {
		was := j.ByHash(h)
		if was == nil {
			continue
		}
		place := was.On.Surface
		if was.On.Layer > 0 {
			place += " layer " + itoa(was.On.Layer)
		}
		if place != "" {
			place += ": "
		}
		return " (" + place + j.Says(was) + ")"
	}
	return ""
}

// keeps says which of the records that do not agree counts by a ruling. What a device does not have, or cannot read, it names by no words.
func (j *Job) keeps(w *Ruling) string {
	if w.Keeps == "none" {
		return "none of the records counts"
	}
	kept := j.byID[w.Keeps]
	if kept == nil {
		return "one record counts that is not here"
	}
	if _, again := kept.What.(*Ruling); again { // two rulings that keep each other would be said for ever
		return "another ruling counts"
	}
	return "what counts is " + j.Says(kept)
}

// namesOfChecks names checks by code in words; a code that this version does not know stays one.
func namesOfChecks(codes []string) string {
	names := make([]string, len(codes))
	for i, c := range codes {
		names[i] = c
		if rule, ok := RuleOf(c); ok {
			names[i] = rule.Name()
		}
	}
	return strings.Join(names, ", ")
}

func measureName(check, key string) string {
	if m, ok := measureOf(check, key); ok {
		return m.Name
	}
	return key
}

func unitOf(check, key string) string {
	if m, ok := measureOf(check, key); ok && m.Range.Unit != "" {
		return " " + m.Range.Unit
	}
	return ""
}

func measureOf(check, key string) (Measure, bool) {
	rule, _ := RuleOf(check)
	for _, m := range rule.Measures {
		if m.Key == key {
			return m, true
		}
	}
	return Measure{}, false
}
