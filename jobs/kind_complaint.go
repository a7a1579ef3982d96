package jobs

import "slices"

var (
	_ = registerKind[Complaint]("complaint", 2)
	_ = registerKind[Outcome]("outcome", 2)
)

// Complaint is what somebody complained of, in their own words.
type Complaint struct {
	Common
	anyone
	Surface  string `json:"surface,omitempty" on:"surface"`
	Words    string `json:"words" sealed:"person"`
	Kind     string `json:"kind"`
	Received string `json:"received"`
	// What else is known of it. Recordings made with a phone are no evidence of a level.
	From       string `json:"from,omitempty" sealed:"person"` // who complains
	How        string `json:"how,omitempty"`                  // phone, letter, mail, visit, council, landlord
	Times      string `json:"times,omitempty" sealed:"person"`
	Severity   *int   `json:"severity,omitempty"` // 0 to 10, as the client says
	Vulnerable bool   `json:"vulnerable,omitempty"`
	Stage      string `json:"stage,omitempty"` // of a formal procedure
	AnswerBy   string `json:"answer_by,omitempty"`
	// Again names an earlier complaint that this one takes up: it is then open again.
	Again string `json:"again,omitempty" ref:"of"`
}

// ComplaintWays lists how a complaint may come in.
func ComplaintWays() []string {
	return []string{"phone", "letter", "mail", "visit", "council", "landlord", "ombudsman", "court", "other"}
}

// Valid wants the words, the kind of noise and when it was received.
func (d *Complaint) Valid() error {
	if d.Surface != "" {
		if err := code("surface", d.Surface); err != nil {
			return err
		}
	}
	if err := text("words", d.Words, 1, 4000); err != nil {
		return err
	}
	if err := text("kind", d.Kind, 1, 100); err != nil {
		return err
	}
	if err := text("received", d.Received, 1, 100); err != nil {
		return err
	}
	for _, f := range []struct {
		field, v string
		most     int
	}{{"from", d.From, 200}, {"times", d.Times, 1000}, {"stage", d.Stage, 200}} {
		if err := text(f.field, f.v, 0, f.most); err != nil {
			return err
		}
	}
	if d.How != "" {
		if err := choice("how", d.How, ComplaintWays()...); err != nil {
			return err
		}
	}
	if d.Severity != nil && (*d.Severity < 0 || *d.Severity > 10) {
		return &InputError{Field: "severity", Value: itoa(*d.Severity), Range: "0 to 10"}
	}
	if err := timestamp("answer_by", d.AnswerBy); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses a surface that the job does not have, and to take up again what is no complaint.
func (d *Complaint) Fits(j *Job) error {
	if d.Again != "" {
		if r := j.byID[d.Again]; r == nil || r.Kind != "complaint" {
			return &InputError{Field: "again", Value: d.Again, Hint: "name the complaint that is taken up again"}
		}
	}
	return AtLayer{Surface: d.Surface}.Fits(j)
}

func (d *Complaint) apply(j *Job, r *Record) { j.put(r) }

func (d *Complaint) says(*Job, *Record) string { return "complaint: " + d.Words }

// Outcome is how a complaint ended. A later outcome of the same complaint takes its place.
type Outcome struct {
	Common
	Outcome    string `json:"outcome"`
	Cause      string `json:"cause"`
	Confidence string `json:"confidence"`
	// What was found and done, what it cost, and why it counts as closed.
	Found    string   `json:"found,omitempty" sealed:"person"`
	Action   string   `json:"action,omitempty" sealed:"person"`
	Cost     *float64 `json:"cost,omitempty"`
	ClosedBy string   `json:"closed_by,omitempty"`
}

// Word is a code with what it says.
type Word struct{ Code, Says string }

// The words for the end of a complaint, for its cause, for how sure the cause is and for why it counts as closed; common
// practice of this project, no source.
var (
	outcomeWords = []Word{
		{"query_explained", "query, explained"},
		{"not_our_element", "complaint, not our element: flanking, the source changed, another room"},
		{"ours_put_right", "complaint, ours, put right"},
		{"ours_not_put_right", "complaint, ours, not put right"},
		{"adjudication", "went to adjudication, ombudsman or court"},
		{"withdrawn", "withdrawn"},
		{"lost_contact", "lost contact"},
	}
	causeWords = []Word{
		{"under_specified", "under-specified"},
		{"not_built_as_specified", "not built as specified"},
		{"later_damage", "later damage"},
		{"flanking_declined", "flanking known and declined"},
		{"flanking_missed", "flanking missed"},
		{"low_frequency_limit", "low-frequency limit"},
		{"services", "services"},
		{"expectation", "expectation"},
		{"unrelated", "unrelated"},
		{"unknown", "unknown"},
	}
	confidenceWords = []Word{{"tested", "tested"}, {"opened", "opened up"}, {"reasoned", "reasoned"}, {"guessed", "guessed"}}
	closedWords     = []Word{{"client_agreed", "the client agreed"}, {"time_lapsed", "time lapsed"}}
)

// OutcomeWords lists how a complaint may end.
func OutcomeWords() []Word { return slices.Clone(outcomeWords) }

// OutcomeCauses lists what may have caused it.
func OutcomeCauses() []Word { return slices.Clone(causeWords) }

// OutcomeConfidences lists how sure a cause may be, the surest first.
func OutcomeConfidences() []Word { return slices.Clone(confidenceWords) }

// ClosedBy lists why a complaint may count as closed.
func ClosedBy() []Word { return slices.Clone(closedWords) }

func codesIn(list []Word) []string {
	codes := make([]string, len(list))
	for i, w := range list {
		codes[i] = w.Code
	}
	return codes
}

func saysIn(list []Word, code string) string {
	for _, w := range list {
		if w.Code == code {
			return w.Says
		}
	}
	return words(code)
}

// Valid wants outcome, cause and how sure the cause is.
func (d *Outcome) Valid() error {
	if err := choice("outcome", d.Outcome, codesIn(outcomeWords)...); err != nil {
		return err
	}
	if err := choice("cause", d.Cause, codesIn(causeWords)...); err != nil {
		return err
	}
	if err := choice("confidence", d.Confidence, codesIn(confidenceWords)...); err != nil {
		return err
	}
	if err := text("found", d.Found, 0, 2000); err != nil {
		return err
	}
	if err := text("action", d.Action, 0, 2000); err != nil {
		return err
	}
	if err := optional(CostRange, "cost", d.Cost); err != nil {
		return err
	}
	if d.ClosedBy != "" {
		if err := choice("closed_by", d.ClosedBy, codesIn(closedWords)...); err != nil {
			return err
		}
	}
	return d.valid()
}

// names replaces an earlier outcome of the same complaint.
func (d *Outcome) names(j *Job) []Ref {
	r := j.byID[d.Over]
	if r == nil {
		return nil
	}
	return refsTo(Base, j.outcomesOf(r))
}

// Allowed is the right of the office and of supervisors.
func (d *Outcome) Allowed(_ *Job, a Author) error {
	if !a.Role.Specifies() {
		return refuse("the outcome of a complaint is recorded by the supervisor or the office")
	}
	return nil
}

// Fits wants a complaint.
func (d *Outcome) Fits(j *Job) error {
	r := j.byID[d.Over]
	if r == nil || r.Kind != "complaint" {
		return &InputError{Field: "over", Value: orMissing(d.Over), Hint: "name the complaint that ended"}
	}
	return nil
}

func (d *Outcome) apply(j *Job, r *Record) { j.put(r) }

func (d *Outcome) says(*Job, *Record) string { return "outcome: " + words(d.Outcome) }
