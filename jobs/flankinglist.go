package jobs

// FlankingItem is where one way round a surface stands, from survey to quote to complaint.
type FlankingItem struct {
	Path      string        `json:"path"`
	Name      string        `json:"name"`
	State     FlankingState `json:"state"`
	Decision  string        `json:"decision,omitempty"`
	TreatedBy string        `json:"treated_by,omitempty"`
	Heard     bool          `json:"heard,omitempty"`
	By        string        `json:"by,omitempty"` // who signed
	Note      string        `json:"note,omitempty"`
}

// FlankingState is what the decision and the client's word come to.
type FlankingState string

// The states of a way round.
const (
	FlankNotLooked FlankingState = "not_looked_at"
	FlankUnseen    FlankingState = "not_seen"
	FlankToTell    FlankingState = "tell_client" // and nobody has signed yet
	FlankTreated   FlankingState = "treat"
	FlankLeft      FlankingState = "leave"
	FlankDeclined  FlankingState = "declined" // by the client, signed
	FlankAccepted  FlankingState = "accepted" // the client signed that they were told
	FlankDisputed  FlankingState = "disputed"
)

// FlankingList is the survey's list of a surface: every way, those that nobody has looked at included.
func (j *Job) FlankingList(s *Surface) []FlankingItem {
	return j.flankingList(s, make([]FlankingItem, 0, len(flankingWays)))
}

// flankingList is FlankingList in memory that is there already.
func (j *Job) flankingList(s *Surface, items []FlankingItem) []FlankingItem {
	for _, w := range flankingWays {
		heads := j.heads(s.decisionsOn(w.Code), j.now())
		if w.Code == "other" {
			for _, h := range heads {
				items = append(items, j.flankingItem(s, w, []*Record{h}))
			}
			continue
		}
		items = append(items, j.flankingItem(s, w, heads))
	}
	return items
}

// flankingStates is what a decision comes to while the client has said nothing.
var flankingStates = map[string]FlankingState{FlankTreat: FlankTreated, FlankLeave: FlankLeft, FlankTellClient: FlankToTell, FlankNotSeen: FlankUnseen}

func (j *Job) flankingItem(s *Surface, w FlankingWay, heads []*Record) FlankingItem {
	it := FlankingItem{Path: w.Code, Name: w.Name, State: FlankNotLooked}
	decided := -1
	differ := false
	for i, h := range heads {
		decided = h.pos
		d := h.What.(*FlankingDecision)
		differ = differ || i > 0 && d.Decision != it.Decision
		it.Decision, it.TreatedBy, it.Note, it.Heard = d.Decision, d.TreatedBy, d.Note, it.Heard || d.Heard
		it.State = flankingStates[d.Decision]
	}
	if differ {
		it.State = FlankDisputed
	}
	// The client's word on a decision stands above it, and above two that differ; a later decision stands by itself again.
	for _, r := range s.of("sign", 0) {
		d, ok := r.What.(*Sign)
		if !ok || d.Flanking != w.Code || r.pos < decided || !j.InForce(r) {
			continue
		}
		it.By = d.Name
		it.State = FlankAccepted
		if d.Statement == "declined" {
			it.State = FlankDeclined
		}
	}
	return it
}

// open tells whether somebody still has to look, to tell or to settle.
func (it FlankingItem) open() bool {
	return it.State == FlankUnseen || it.State == FlankToTell || it.State == FlankDisputed
}

// flankingWarnings lists the ways round that are still open.
func (s *Surface) flankingWarnings() []string {
	var ws []string
	for _, it := range s.ways {
		switch it.State {
		case FlankUnseen:
			ws = append(ws, "flanking, "+it.Name+": could not be seen at the survey")
		case FlankToTell:
			ws = append(ws, "flanking, "+it.Name+": the client has to be told, and nobody has signed yet")
		case FlankDisputed:
			ws = append(ws, "flanking, "+it.Name+": two people decided differently")
		}
	}
	return ws
}

// flankingNotes says which ways round a prediction does not contain work on.
func (j *Job) flankingNotes(s *Surface) []string {
	var notes []string
	for _, it := range j.FlankingList(s) {
		switch {
		case it.State == FlankDeclined:
			notes = append(notes, "flanking by the "+it.Name+" stays: treating it was declined by "+it.By)
		case it.State == FlankAccepted:
			notes = append(notes, "flanking by the "+it.Name+" stays: "+it.By+" was told")
		case it.State == FlankLeft:
			notes = append(notes, "flanking by the "+it.Name+" is left as it is")
		case it.open():
			notes = append(notes, "flanking by the "+it.Name+" is not settled")
		}
	}
	return notes
}
