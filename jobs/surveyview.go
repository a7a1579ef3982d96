package jobs

// SurveyView is what is known before the work: who asked, how it was, what was found and how that is known.
type SurveyView struct {
	Enquiry   *Enquiry      `json:"enquiry"`
	Baseline  *Answers      `json:"baseline"`
	BuiltYear *int          `json:"built_year"`
	Findings  []FindingView `json:"findings"`
	Signed    []SignedView  `json:"signed"`
}

// FindingView is one finding.
type FindingView struct {
	ID        string `json:"id"`
	Surface   string `json:"surface"`
	Room      string `json:"room"`
	Structure string `json:"structure"`
	Category  string `json:"category"`
	Place     string `json:"place"`
	Test      string `json:"test"`
	Finding   string `json:"finding"`
	Known     string `json:"known"`
	Assumed   bool   `json:"assumed"`
	Who       string `json:"who"`
	Open      bool   `json:"open"`
	Boxes     int    `json:"boxes"`
}

// SignedView is the word of somebody without an account.
type SignedView struct {
	ID        string `json:"id"`
	At        string `json:"at"`
	Surface   string `json:"surface"`
	Name      string `json:"name"`
	Role      string `json:"role"`
	Statement string `json:"statement"`
	What      string `json:"what"`
	Flanking  string `json:"flanking"`
	Means     string `json:"means"`
}

// Survey gathers what was found out before the work.
func (j *Job) Survey() SurveyView {
	v := SurveyView{Enquiry: j.Enquiry(), Findings: []FindingView{}, Signed: []SignedView{}}
	if r := j.lastElsewhere("baseline"); r != nil {
		v.Baseline = r.What.(*Baseline).Answers
	}
	if year, ok := j.BuiltYear(); ok {
		v.BuiltYear = &year
	}
	for _, f := range j.Findings() {
		v.Findings = append(v.Findings, FindingView{ID: f.Record.ID, Surface: f.Surface, Room: f.Room, Structure: f.Structure, Category: f.Category, Place: f.Place,
			Test: f.Test, Finding: f.Finding, Known: f.Known, Assumed: f.assumed(), Who: f.Who, Open: f.open(), Boxes: f.Boxes})
	}
	for _, r := range j.Of("sign") {
		d := r.What.(*Sign)
		v.Signed = append(v.Signed, SignedView{ID: r.ID, At: r.DoneAt().Format("2006-01-02T15:04:05Z07:00"), Surface: d.Surface, Name: d.Name, Role: d.Role,
			Statement: d.Statement, What: d.What, Flanking: d.Flanking, Means: d.Means})
	}
	return v
}
