package jobs

import (
	"encoding/json"
	"strings"

	"tacet/acoustics"
)

var (
	_ = registerKind[Baseline]("baseline", 1)
	_ = registerKind[FollowUp]("follow_up", 2)
)

// Baseline is how the noise was judged before the work; it can never be collected later.
type Baseline struct {
	Common
	anyone
	Answers *Answers `json:"answers"`
}

// FollowUp asks the same again after 1, 3 and 12 months.
type FollowUp struct {
	Common
	anyone
	Month   int      `json:"month"`
	Answers *Answers `json:"answers"`
	// The rest of what is asked each time.
	Room      string   `json:"room,omitempty"`     // in which it is heard
	When      []string `json:"when,omitempty"`     // day, evening, night
	Compared  string   `json:"compared,omitempty"` // with before the work: better, same, worse
	NewSounds string   `json:"new_sounds,omitempty" sealed:"person"`
	Changes   string   `json:"changes,omitempty" sealed:"person"` // neighbour, floor finish, holes cut, heating season
	Recommend string   `json:"recommend,omitempty" sealed:"person"`
	OtherSide bool     `json:"other_side,omitempty"` // asked on the other side of the partition
}

// Answers are 0 (nothing heard) to 10 by kind of noise; nil where it was not asked. No reply stays no reply.
type Answers struct {
	NoReply                                      bool
	Voices, Bass, Footsteps, Bangs, Pipes, Other *float64
}

type answersJSON struct {
	Voices    *float64 `json:"voices,omitempty"`
	Bass      *float64 `json:"bass,omitempty"`
	Footsteps *float64 `json:"footsteps,omitempty"`
	Bangs     *float64 `json:"bangs,omitempty"`
	Pipes     *float64 `json:"pipes,omitempty"`
	Other     *float64 `json:"other,omitempty"`
}

// UnmarshalJSON reads "no_reply" or the answers.
func (a *Answers) UnmarshalJSON(data []byte) error {
	if len(data) > 0 && data[0] == '"' {
		var word string
		if err := json.Unmarshal(data, &word); err != nil || word != "no_reply" {
			return &InputError{Value: word, Range: `"no_reply" or answers from 0 to 10`}
		}
		*a = Answers{NoReply: true}
		return nil
	}
	var in answersJSON
	if err := acoustics.Decode(data, &in); err != nil {
		return err
	}
	*a = Answers{Voices: in.Voices, Bass: in.Bass, Footsteps: in.Footsteps, Bangs: in.Bangs, Pipes: in.Pipes, Other: in.Other}
	return nil
}

// MarshalJSON writes what UnmarshalJSON reads.
func (a Answers) MarshalJSON() ([]byte, error) {
	if a.NoReply {
		return []byte(`"no_reply"`), nil
	}
	return json.Marshal(answersJSON{a.Voices, a.Bass, a.Footsteps, a.Bangs, a.Pipes, a.Other})
}

func (a *Answers) valid() error {
	if a == nil {
		return &InputError{Field: "answers", Value: "missing", Range: `"no_reply" or answers from 0 to 10`}
	}
	if a.NoReply {
		return nil
	}
	scale := acoustics.Range{Min: 0, Max: 10}
	given := 0
	for _, n := range noiseKinds {
		v := a.Rated(n.Code)
		if v == nil {
			continue
		}
		given++
		if err := scale.Check("answers."+n.Code, *v); err != nil {
			return err
		}
	}
	if given == 0 {
		return &InputError{Field: "answers", Value: "empty", Range: `"no_reply" or answers from 0 to 10`}
	}
	return nil
}

// Valid checks the answers.
func (d *Baseline) Valid() error {
	if err := d.Answers.valid(); err != nil {
		return err
	}
	return d.valid()
}

// Valid checks month and answers.
func (d *FollowUp) Valid() error {
	if d.Month != 1 && d.Month != 3 && d.Month != 12 {
		return &InputError{Field: "month", Value: itoa(d.Month), Range: "1, 3 or 12"}
	}
	if err := d.Answers.valid(); err != nil {
		return err
	}
	for _, w := range d.When {
		if err := choice("when", w, "day", "evening", "night"); err != nil {
			return err
		}
	}
	if len(d.When) > 3 {
		return &InputError{Field: "when", Value: itoa(len(d.When)), Range: "at most 3"}
	}
	if d.Compared != "" {
		if err := choice("compared", d.Compared, "better", "same", "worse"); err != nil {
			return err
		}
	}
	if d.Recommend != "" && !unreadable(d.Recommend) {
		if err := choice("recommend", d.Recommend, "yes", "no", "not_sure"); err != nil {
			return err
		}
	}
	for _, f := range []struct{ field, v string }{{"room", d.Room}, {"new_sounds", d.NewSounds}, {"changes", d.Changes}} {
		if err := text(f.field, f.v, 0, 1000); err != nil {
			return err
		}
	}
	if said := d.Room + d.Compared + d.NewSounds + d.Changes + d.Recommend; d.Answers.NoReply && (said != "" || len(d.When) > 0) {
		return &InputError{Field: "answers", Value: "no_reply", Hint: "who did not reply said nothing else either"}
	}
	return d.valid()
}

func (d *Baseline) apply(j *Job, r *Record) { j.put(r) }
func (d *FollowUp) apply(j *Job, r *Record) { j.put(r) }

func (d *Baseline) says(*Job, *Record) string { return "before the work: " + d.Answers.says() }

func (d *FollowUp) says(*Job, *Record) string {
	says := "month " + itoa(d.Month) + ": " + d.Answers.says()
	if d.OtherSide {
		says = "other side, " + says
	}
	switch d.Compared {
	case "same":
		says += "; as before"
	case "better", "worse":
		says += "; " + d.Compared + " than before"
	}
	return says
}

// says lists the answers of 10.
func (a *Answers) says() string {
	if a == nil || a.NoReply {
		return "no reply"
	}
	var parts []string
	for _, n := range noiseKinds {
		if v := a.Rated(n.Code); v != nil {
			parts = append(parts, n.Code+" "+trim(*v))
		}
	}
	return strings.Join(parts, ", ") + " (0 nothing, 10 worst)"
}
