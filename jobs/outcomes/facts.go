package outcomes

import "time"

// Facts is all that one job tells about outcomes, so small that those of many thousand jobs fit into memory. It holds no
// words of clients and no names of people.
type Facts struct {
	Job      string     `json:"job"`
	Name     string     `json:"name"`
	Finished *time.Time `json:"finished"` // nil: still worked on, or not recorded
	// Started is set once anything was installed.
	Started bool `json:"started"`
	// OnHold: everything is in place, but a stop check is neither passed nor released, so the work did not end.
	OnHold bool `json:"on_hold"`

	Parts      []Part         `json:"parts"`
	Tests      []Test         `json:"tests"`
	Complaints []Complained   `json:"complaints"`
	FollowUps  []FollowUp     `json:"follow_ups"`
	Baseline   map[string]int `json:"baseline"` // 0-10 by kind of noise
	Checks     []CheckCount   `json:"checks"`
	Cures      []Cure         `json:"put_right"`
	Declined   int            `json:"flanking_declined"` // statements by which somebody declined work on a way round
	Reviews    []ReviewMark   `json:"reviews"`
	Unread     int            `json:"recorded_by_newer_version"`

	settings []setting
}

// Part is one surface.
type Part struct {
	Surface string    `json:"surface"`
	Family  Family    `json:"family"`
	Bare    bool      `json:"nothing_specified"` // it belongs to no family yet
	Begun   time.Time `json:"begun"`             // first install; zero: none
	Fitter  string    `json:"fitter"`            // id or name of who installed first; never exported
	// MarginDB is the lowest margin of the prediction as quoted over the job's targets, positive on the good side; nil
	// without target or prediction, or where flanking is not known. Frozen tells that the prediction was frozen when it was quoted.
	MarginDB *float64 `json:"margin_db"`
	Frozen   bool     `json:"frozen"`
	// Evidence is the mean strength, 0 to 5, over the stop checks that apply; unanswered ones count 0. Nil without any.
	Evidence *float64 `json:"evidence"`
	Covered  int      `json:"layers_covered"`
	Unseen   int      `json:"layers_covered_unseen"`
	Answered int      `json:"checks_answered"`
	Failed   int      `json:"checks_failed"`
}

// Test is one sound test beside the prediction of the same quantity for the same partition.
type Test struct {
	Quantity    string    `json:"quantity"`
	At          time.Time `json:"at"`
	Surface     string    `json:"surface"` // "" where no surface of the test has a prediction
	Family      string    `json:"family"`
	MeasuredDB  float64   `json:"measured_db"`
	PredictedDB *float64  `json:"predicted_db"` // nil: nothing of the same quantity was predicted
	UDB         *float64  `json:"u_db"`
	Frozen      bool      `json:"frozen"`
	// Partial: the prediction leaves out flanking, which was not known.
	Partial bool     `json:"flanking_left_out"`
	LimitDB *float64 `json:"limit_db"`
	// Early: measured before the work on the surface was complete, so of what stood there before or of half of it.
	Early bool `json:"before_the_work_was_complete"`
}

// Complained is one complaint.
type Complained struct {
	At      time.Time `json:"at"`
	Kind    string    `json:"kind"`    // one of the kinds of noise
	Surface string    `json:"surface"` // "" where it names none
	Outcome string    `json:"outcome"` // "" while it is open
	Cause   string    `json:"cause"`
	Cost    float64   `json:"cost"` // recorded with the outcome, what was put right aside
}

// Counts tells whether it was a complaint in the end: not a query that was explained, not withdrawn.
func (c Complained) Counts() bool { return c.Outcome != "query_explained" && c.Outcome != "withdrawn" }

// Ours tells whether it was found to be the firm's own work.
func (c Complained) Ours() bool {
	return c.Outcome == "ours_put_right" || c.Outcome == "ours_not_put_right"
}

// FollowUp is one asking after the work.
type FollowUp struct {
	Month   int            `json:"month"`
	At      *time.Time     `json:"at"` // nil: the date was not recorded, the planned month stands for it
	NoReply bool           `json:"no_reply"`
	Answers map[string]int `json:"answers"`
}

// CheckCount counts the answers to one check on a job.
type CheckCount struct {
	Code     string `json:"code"`
	Stop     bool   `json:"stop"`
	Answered int    `json:"answered"`
	Failed   int    `json:"failed"`
}

// Cure is one fault that was put right.
type Cure struct {
	Over  string  `json:"over"`  // check, audit, complaint or sound_test
	Check string  `json:"check"` // the check that had failed, if it was one
	Cause string  `json:"cause"`
	Hours float64 `json:"hours"`
	Cost  float64 `json:"cost"` // in the firm's own money
	Late  bool    `json:"late"` // after the work: of a complaint or a sound test
}

// ReviewMark is a mark set or cleared on a family.
type ReviewMark struct {
	Family string    `json:"family"`
	Flag   string    `json:"flag"`
	Reason string    `json:"reason"`
	At     time.Time `json:"at"`
	order  string    // of recording: the last one counts, whatever day it names
}
