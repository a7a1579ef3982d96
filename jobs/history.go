package jobs

import (
	"encoding/json"
	"time"
)

// Line is one entry of a job's history.
type Line struct {
	ID      string          `json:"id"`
	Kind    string          `json:"kind"`
	Device  string          `json:"device"`
	Author  string          `json:"author"`
	Role    Role            `json:"role"`
	At      string          `json:"at"` // RFC 3339, UTC, by the device's clock
	InForce bool            `json:"in_force"`
	Body    json.RawMessage `json:"body"`
}

// History lists every entry in fold order, each body as it was recorded.
func (j *Job) History() ([]Line, error) {
	lines := make([]Line, 0, len(j.Records))
	for _, r := range j.Records {
		body, err := r.EdgeJSON()
		if err != nil {
			return nil, err
		}
		lines = append(lines, Line{ID: r.ID, Kind: r.Kind, Device: r.Dev, Author: r.By, Role: r.Role,
			At: r.Clk.Time().Format(time.RFC3339Nano), InForce: j.InForce(r), Body: body})
	}
	return lines, nil
}

// EdgeJSON is what was recorded, in the form that a person gives it; {} where this program can't read it.
func (r *Record) EdgeJSON() (json.RawMessage, error) {
	if r.Data == nil || r.Newer() {
		return json.RawMessage("{}"), nil
	}
	tree, err := edgeTree(*r.Entry)
	if err != nil {
		return nil, err
	}
	out, err := encode(tree)
	if err != nil {
		return nil, err
	}
	return out[:len(out)-1], nil
}
