package jobs

import "time"

// WorkView is what became of the work, as JSON: what was found wrong, what waits, what was measured, what came after. It is
// part of [JobView]. Nothing in it depends on the time at which it is read.
type WorkView struct {
	NonConformances []NonConformanceView `json:"non_conformances"`
	PutRight        []CauseView          `json:"put_right_by_cause"`
	Crew            []CrewView           `json:"crew"`
	Queue           []QueueView          `json:"queue"`
	CoveredUnseen   int                  `json:"covered_unseen"`
	// Substitutions wait for an answer, each with what it does.
	Substitutions []SubstitutionEffect `json:"substitutions"`
	NotSeen       []string             `json:"not_seen"`
	PhotoDoubts   []string             `json:"photo_doubts"`
	Tests         []TestView           `json:"tests"`
	Complaints    []ComplaintView      `json:"complaints"`
	HandedOver    *string              `json:"handed_over"`
	FollowUps     []FollowUpView       `json:"follow_ups"`
}

// NonConformanceView is something found wrong.
type NonConformanceView struct {
	Surface     string              `json:"surface"`
	Layer       *int                `json:"layer"`
	Check       string              `json:"check"`
	Title       string              `json:"title"`
	Saw         string              `json:"saw"`
	Grade       Grade               `json:"grade"`
	Consequence string              `json:"consequence"`
	Acts        string              `json:"acts"`
	Until       string              `json:"until"`
	State       NonConformanceState `json:"state"`
	Open        bool                `json:"open"`
	Disputed    bool                `json:"disputed"`
	Found       string              `json:"found"`
	PutRight    string              `json:"put_right"`
	Cause       Cause               `json:"cause"`
	Hours       float64             `json:"hours"`
	Cost        float64             `json:"cost"`
	Accepted    string              `json:"accepted"`
	OwnWork     bool                `json:"own_work"`
}

// CauseView is what putting right took for one cause.
type CauseView struct {
	Cause Cause   `json:"cause"`
	N     int     `json:"n"`
	Hours float64 `json:"hours"`
	Cost  float64 `json:"cost"`
}

// CrewView is what one person did.
type CrewView struct {
	Who       string   `json:"who"`
	Surfaces  []string `json:"surfaces"`
	Installs  int      `json:"installs"`
	PutRights int      `json:"put_rights"`
	FromPaper int      `json:"from_paper"`
}

// QueueView is a layer that waits for the supervisor.
type QueueView struct {
	Surface   string      `json:"surface"`
	Layer     int         `json:"layer"`
	Why       QueueReason `json:"why"`
	CoverAt   *string     `json:"cover_at"`
	Since     string      `json:"since"`
	Open      []string    `json:"open"`
	Look      bool        `json:"look"`
	Because   string      `json:"because"`
	CoverFrom *string     `json:"cover_from"`
	Rule      string      `json:"rule"`
	Coming    bool        `json:"coming"`
}

// TestView is a sound test beside its limit and its prediction.
type TestView struct {
	Entry       string        `json:"entry"`
	Quantity    string        `json:"quantity"`
	MeasuredDB  float64       `json:"measured_db"`
	LimitDB     *float64      `json:"limit_db"`
	MarginDB    *float64      `json:"margin_db"`
	Passes      *bool         `json:"passes"`
	Counts      bool          `json:"counts"`
	PredictedDB *float64      `json:"predicted_db"`
	UDB         *float64      `json:"u_db"`
	Predicted   string        `json:"predicted_surface"`
	Frozen      string        `json:"frozen_by"`
	Suspects    []SuspectView `json:"suspects"`
	Notes       []string      `json:"notes"`
}

// SuspectView is what may be at fault.
type SuspectView struct {
	Surface string `json:"surface"`
	Layer   int    `json:"layer"`
	Check   string `json:"check"`
	What    string `json:"what"`
	Why     string `json:"why"`
	Entry   string `json:"entry"`
}

// ComplaintView is a complaint with its state.
type ComplaintView struct {
	Entry   string         `json:"entry"`
	Surface string         `json:"surface"`
	Words   string         `json:"words"`
	Kind    string         `json:"kind"`
	State   ComplaintState `json:"state"`
	Says    string         `json:"says"`
	Hours   float64        `json:"hours"`
	Cost    float64        `json:"cost"`
}

// FollowUpView is one of the times of asking again; state is answered, no_reply, or empty while nobody has asked.
type FollowUpView struct {
	Month int      `json:"month"`
	At    string   `json:"at"`
	State DueState `json:"state"`
	Entry string   `json:"entry"`
}

// DefectCostView is what an open fault costs.
type DefectCostView struct {
	Surface string   `json:"surface"`
	Layer   int      `json:"layer"`
	Check   string   `json:"check"`
	Entry   string   `json:"entry"`
	LossDB  *float64 `json:"loss_db"`
	WorthDB *float64 `json:"worth_db"`
	UDB     *float64 `json:"u_db"`
	Says    string   `json:"says"`
}

func idOf(r *Record) string {
	if r == nil {
		return ""
	}
	return r.ID
}

// stamp is a time as JSON has it, nil for none.
func stamp(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	s := t.UTC().Format(time.RFC3339)
	return &s
}

// WorkView works out what became of the work.
func (j *Job) WorkView() WorkView {
	v := WorkView{NonConformances: []NonConformanceView{}, PutRight: []CauseView{}, Crew: []CrewView{}, Queue: []QueueView{}, CoveredUnseen: j.CoveredUnseen(), Substitutions: j.OpenEffects(),
		NotSeen: append([]string{}, j.NotSeen("", 0)...), PhotoDoubts: []string{}, Tests: []TestView{}, Complaints: []ComplaintView{}, FollowUps: []FollowUpView{}}
	for _, n := range j.NonConformances() {
		line := NonConformanceView{Surface: n.On.Surface, Check: n.On.Check, Title: n.Title, Saw: n.Saw, Grade: n.Grade, Consequence: n.Consequence, Acts: n.Acts, Until: n.Until, State: n.State,
			Open: n.Open(), Disputed: n.Disputed, Found: n.Found.ID, PutRight: idOf(n.PutRight), Cause: n.Cause, Hours: n.Hours, Cost: n.Cost, Accepted: idOf(n.Accepted), OwnWork: n.OwnWork}
		if n.On.Layer > 0 {
			line.Layer = &n.On.Layer
		}
		v.NonConformances = append(v.NonConformances, line)
	}
	for _, c := range j.PutRightByCause() {
		v.PutRight = append(v.PutRight, CauseView(c))
	}
	for _, c := range j.Crew() {
		v.Crew = append(v.Crew, CrewView(c))
	}
	for _, i := range j.Queue() {
		v.Queue = append(v.Queue, i.View())
	}
	for _, d := range j.PhotoDoubts() {
		v.PhotoDoubts = append(v.PhotoDoubts, d.Says)
	}
	for _, t := range j.TestVerdicts() {
		v.Tests = append(v.Tests, t.view())
	}
	for _, c := range j.Complaints() {
		v.Complaints = append(v.Complaints, ComplaintView{Entry: c.Record.ID, Surface: c.Record.On.Surface, Words: c.Complaint.Words, Kind: c.Complaint.Kind, State: c.State, Says: c.Says(), Hours: c.Hours, Cost: c.Cost})
	}
	handed, _ := j.HandedOver()
	v.HandedOver = stamp(handed)
	for _, d := range j.Due(time.Time{}) { // before everything: what was asked shows, what is due does not
		f := FollowUpView{Month: d.Month, At: d.At.UTC().Format(time.RFC3339), Entry: idOf(d.Record)}
		if d.Record != nil {
			f.State = d.State
		}
		v.FollowUps = append(v.FollowUps, f)
	}
	return v
}

// View is the item as JSON.
func (i QueueItem) View() QueueView {
	q := QueueView{Surface: i.Surface.Code, Layer: i.Layer.N, Why: i.Why, CoverAt: stamp(i.CoverAt), Since: i.Since.UTC().Format(time.RFC3339), Open: []string{}, Look: i.Look, Because: i.Because,
		CoverFrom: stamp(i.CoverFrom), Rule: i.Rule, Coming: i.Answer != nil}
	for _, c := range i.Open {
		q.Open = append(q.Open, c.Rule.Code)
	}
	return q
}

func (t TestVerdict) view() TestView {
	v := TestView{Entry: t.Record.ID, Quantity: t.Test.Quantity, MeasuredDB: t.MeasuredDB, MarginDB: t.MarginDB, Passes: t.Passes, Counts: t.Counts, PredictedDB: t.PredictedDB, UDB: t.UDB,
		Predicted: t.Predicted, Frozen: t.Frozen, Suspects: []SuspectView{}, Notes: append([]string{}, t.Notes...)}
	if t.Limit != nil {
		v.LimitDB = &t.Limit.ValueDB
	}
	for _, s := range t.Suspects {
		v.Suspects = append(v.Suspects, SuspectView{s.On.Surface, s.On.Layer, s.On.Check, s.What, s.Why, s.Entry})
	}
	return v
}

func costViews(costs []DefectCost) []DefectCostView {
	out := []DefectCostView{}
	for _, c := range costs {
		out = append(out, DefectCostView{c.On.Surface, c.On.Layer, c.On.Check, c.Record.ID, c.LossDB, c.WorthDB, c.UDB, c.Says})
	}
	return out
}
