package jobs

import "strings"

// Says tells in one line what a record says.
func (j *Job) Says(r *Record) string {
	if r.What == nil {
		return "recorded by a newer version"
	}
	return r.What.says(j, r)
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
