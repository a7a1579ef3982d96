package jobs

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// ClockTolerance is how far the clocks of two devices may honestly differ.
const ClockTolerance = 10 * time.Minute

// NotAhead refuses what is said to be done later than now, by the device's own clock: it can't have been done yet. It is asked only where a
// person can still answer; clocks do not decide about what arrives from elsewhere, there the job says that it looks wrong.
func NotAhead(edge []byte, now time.Time) error {
	var head struct {
		At string `json:"at"`
	}
	if err := json.Unmarshal(edge, &head); err != nil || head.At == "" {
		return nil // whoever composes it says what is wrong
	}
	at, err := time.Parse(time.RFC3339, head.At)
	if err != nil || !at.After(now.Add(ClockTolerance)) {
		return nil
	}
	return &InputError{Field: "at", Value: head.At, Range: "not later than now", Hint: fmt.Sprintf("work that is done can't lie ahead; this device says that it is %s. Is its clock right?", now.Format(time.RFC3339))}
}

// Ahead names what is said to be done later than it was recorded. It looks at every record, so it is asked for where it is shown and not
// whenever something is recorded.
func (j *Job) Ahead() []string {
	var ws []string
	for _, r := range j.Records {
		if r.Common().At == "" || !j.InForce(r) || !r.DoneAt().After(r.Clk.Time().Add(ClockTolerance)) {
			continue
		}
		ws = append(ws, fmt.Sprintf("%s is said to be done at %s, later than it was recorded: a clock or a date is wrong", strings.TrimSpace(place(r.On)+" "+words(r.Kind)), r.DoneAt().Format(time.RFC3339)))
	}
	return ws
}
