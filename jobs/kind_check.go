package jobs

import (
	"maps"
	"slices"
	"strings"
)

var _ = registerKind[CheckResult]("check", 1)

// CheckResult is what somebody found when checking.
type CheckResult struct {
	Common
	AtLayer
	Check       string             `json:"check" on:"check"`
	Result      Verdict            `json:"result"`
	Measured    map[string]float64 `json:"measured,omitempty"`
	Evidence    int                `json:"evidence,omitempty"`
	Certificate string             `json:"certificate,omitempty"`
}

// Verdict is the answer of a check.
type Verdict string

// The four answers.
const (
	Pass          Verdict = "pass"
	Fail          Verdict = "fail"
	NotApplicable Verdict = "not_applicable"
	CouldNotSee   Verdict = "could_not_see"
)

// Valid checks the answer, and each measured value against the range of its check.
func (d *CheckResult) Valid() error {
	if err := code("surface", d.Surface); err != nil {
		return err
	}
	if d.Layer != 0 {
		if err := layerNumber(d.Layer); err != nil {
			return err
		}
	}
	rule, ok := RuleOf(d.Check)
	if !ok {
		return &InputError{Field: "check", Value: orMissing(d.Check), Range: "K01 to K50"}
	}
	if err := choice("result", d.Result, Pass, Fail, NotApplicable, CouldNotSee); err != nil {
		return err
	}
	for _, key := range slices.Sorted(maps.Keys(d.Measured)) {
		i := slices.IndexFunc(rule.Measures, func(m Measure) bool { return m.Key == key })
		if i < 0 {
			return &InputError{Field: "measured." + key, Value: "not a measure of " + rule.Code, Range: measureKeys(rule)}
		}
		if err := rule.Measures[i].Range.Check("measured."+key, d.Measured[key]); err != nil {
			return err
		}
	}
	if d.Result == NotApplicable {
		if err := text("note", d.Note, 1, 4000); err != nil {
			return &InputError{Field: "note", Value: "missing", Hint: "say why " + rule.Code + " does not apply"}
		}
	}
	if err := text("certificate", d.Certificate, 0, 200); err != nil {
		return err
	}
	if err := evidenceRange("evidence", d.Evidence); err != nil {
		return err
	}
	return d.valid()
}

func measureKeys(rule CheckRule) string {
	if len(rule.Measures) == 0 {
		return "none: it is looked at, not measured"
	}
	keys := make([]string, len(rule.Measures))
	for i, m := range rule.Measures {
		keys[i] = m.Key
	}
	return "one of " + strings.Join(keys, ", ")
}

// Allowed lets anybody record what was found. What it is worth is another question: see [Evidence].
func (d *CheckResult) Allowed(*Job, Author) error { return nil }

// Fits refuses a check that the surface or layer does not ask for.
func (d *CheckResult) Fits(j *Job) error {
	if err := d.AtLayer.Fits(j); err != nil {
		return err
	}
	s := j.Surface(d.Surface)
	if s.Check(d.Check, d.Layer) != nil {
		return nil
	}
	var where []string
	for _, c := range s.Checks {
		if c.Rule.Code == d.Check {
			where = append(where, placeOf(c.Layer))
		}
	}
	if len(where) == 0 {
		return &InputError{Field: "check", Value: d.Check, Hint: "surface " + s.Code + " does not ask for it"}
	}
	return &InputError{Field: "layer", Value: orMissing(map[bool]string{true: "", false: itoa(d.Layer)}[d.Layer == 0]), Hint: d.Check + " of surface " + s.Code + " belongs to " + strings.Join(where, ", ")}
}

func placeOf(layer int) string {
	if layer == 0 {
		return "the surface as a whole"
	}
	return "layer " + itoa(layer)
}

// names points to the list, and to what was put right since the check last failed: the answer was given in view of it.
func (d *CheckResult) names(j *Job) []Ref {
	refs := d.listRef(j)
	if s := j.Surface(d.Surface); s != nil {
		if c := s.Check(d.Check, d.Layer); c != nil {
			for _, h := range c.Heads {
				if cure := j.CuredBy(h); cure != nil {
					refs = append(refs, Ref{cure.Hash, Sees})
				}
			}
		}
	}
	return refs[:min(len(refs), MaxRefs/2)]
}

func (d *CheckResult) apply(j *Job, r *Record) { j.put(r) }

func (d *CheckResult) says(j *Job, r *Record) string {
	says := d.Check + " " + words(string(d.Result))
	for _, key := range slices.Sorted(maps.Keys(d.Measured)) {
		says += ", " + measureName(d.Check, key) + " " + trim(d.Measured[key]) + unitOf(d.Check, key)
		if in := j.Outside(r, key); in != nil && d.Result == Pass { // the mark goes wherever the answer is read
			says += ", " + in.Misses()
		}
	}
	return says
}

// Evidence returns how strong a check result is, 0 to 5, as it counts and not as it is claimed: without a photo at most
// 1; without a measured value or a certificate at most 2, except where there is nothing to measure; 4 and 5 (seen in
// person, opened up) only from a supervisor. Common practice of this project, no source.
func (j *Job) Evidence(r *Record) int {
	d, ok := r.What.(*CheckResult)
	if !ok {
		return 0
	}
	worth := d.Evidence
	if !r.Role.Judges() {
		worth = min(worth, 3)
	}
	rule, _ := RuleOf(d.Check)
	if len(d.Measured) == 0 && d.Certificate == "" && !rule.Unmeasured {
		worth = min(worth, 2)
	}
	if len(r.Blobs) == 0 && !j.photographed(r) {
		worth = min(worth, 1)
	}
	return worth
}

// photographed tells whether a photo of the same subject was recorded by itself.
func (j *Job) photographed(r *Record) bool {
	s := j.Surface(r.On.Surface)
	if s == nil {
		return false
	}
	for _, p := range s.of("photo", r.On.Layer) {
		if p.On.Check == r.On.Check && j.InForce(p) {
			return true
		}
	}
	return false
}
