package jobs

import "strings"

var _ = registerKind[Review]("review", 1)

// Review sets or clears the mark that a family of build-ups is to be looked at again before it is specified. It concerns
// the whole firm and may stand in any of its jobs; the last one counts. A mark never goes away by itself.
type Review struct {
	Common
	Family string     `json:"family"` // code of the family
	Flag   ReviewFlag `json:"flag"`
	Reason string     `json:"reason"`
}

// ReviewFlag is the mark.
type ReviewFlag string

// The two marks.
const (
	FlagReview  ReviewFlag = "review"
	FlagCleared ReviewFlag = "cleared"
)

// Valid wants family, mark and reason.
func (d *Review) Valid() error {
	if err := familyCode("family", d.Family); err != nil {
		return err
	}
	if err := choice("flag", d.Flag, FlagReview, FlagCleared); err != nil {
		return err
	}
	if err := text("reason", d.Reason, 1, 1000); err != nil {
		return err
	}
	return d.valid()
}

// familyCode checks the form of a family's code: words, digits and hyphens.
func familyCode(field, s string) error {
	ok := len(s) >= 3 && len(s) <= 60 && !strings.HasPrefix(s, "-") && !strings.HasSuffix(s, "-")
	for _, c := range []byte(s) {
		ok = ok && (c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-')
	}
	if !ok {
		return &InputError{Field: field, Value: orMissing(s), Range: "3 to 60 letters, digits or -", Hint: "the code of a family of build-ups, as the summary of outcomes gives it"}
	}
	return nil
}

// Allowed is the right of those who judge or specify.
func (d *Review) Allowed(_ *Job, a Author) error {
	if !a.Role.Specifies() {
		return refuse("a family of build-ups is marked or cleared by the supervisor or the office")
	}
	return nil
}

func (d *Review) apply(j *Job, r *Record) { j.put(r) }

func (d *Review) says(*Job, *Record) string {
	if d.Flag == FlagCleared {
		return "family " + d.Family + " no longer marked for review: " + d.Reason
	}
	return "family " + d.Family + " marked for review: " + d.Reason
}
