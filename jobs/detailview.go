package jobs

// DetailView is what is specified of a layer beyond the list.
type DetailView struct {
	Generic        string      `json:"generic"`
	Orientation    string      `json:"orientation"`
	Fixing         *Fixing     `json:"fixing"`
	Joints         *Joints     `json:"joints"`
	Edge           *Edge       `json:"edge"`
	Required       []Class     `json:"required"`
	Given          []Class     `json:"given"`
	Equals         []Permitted `json:"equals"`
	MassSource     string      `json:"mass_source"`
	DataSheet      string      `json:"data_sheet"`
	HoldPoint      bool        `json:"hold_point"`
	EvidenceWanted string      `json:"evidence_wanted"`
}

func (s *Surface) detailView(j *Job, l *Layer) *DetailView {
	d := s.Detail(j, l.N)
	if d == nil {
		return nil
	}
	return &DetailView{Generic: d.Generic, Orientation: d.Orientation, Fixing: d.Fixing, Joints: d.Joints, Edge: d.Edge, Required: append([]Class{}, d.Required...),
		Given: append([]Class{}, d.Given...), Equals: append([]Permitted{}, d.Equals...), MassSource: d.MassSource, DataSheet: d.DataSheet, HoldPoint: d.HoldPoint, EvidenceWanted: d.EvidenceWanted}
}
