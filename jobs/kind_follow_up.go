package jobs

import (
	"encoding/json"

	"tacet/acoustics"
)

var (
	_ = registerKind[Baseline]("baseline", 1)
	_ = registerKind[FollowUp]("follow_up", 1)
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
	for _, v := range []struct {
		key string
		v   *float64
	}{{"voices", a.Voices}, {"bass", a.Bass}, {"footsteps", a.Footsteps}, {"bangs", a.Bangs}, {"pipes", a.Pipes}, {"other", a.Other}} {
		if v.v == nil {
			continue
		}
		given++
		if err := scale.Check("answers."+v.key, *v.v); err != nil {
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
	return d.valid()
}

func (d *Baseline) apply(j *Job, r *Record) { j.put(r) }
func (d *FollowUp) apply(j *Job, r *Record) { j.put(r) }
