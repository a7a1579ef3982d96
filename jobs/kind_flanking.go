package jobs

var _ = registerKind[FlankingDecision]("flanking", 1)

// FlankingDecision says what is done about one way on which sound goes round a surface. The way may be declined by the
// client: see [Sign].
type FlankingDecision struct {
	Common
	anyone
	Surface   string `json:"surface" on:"surface"`
	Path      string `json:"path"`
	Decision  string `json:"decision"`
	TreatedBy string `json:"treated_by,omitempty"` // the surface whose work treats it
	Heard     bool   `json:"heard,omitempty"`
}

// FlankingWay is one line of the survey's flanking list.
type FlankingWay struct{ Code, Name string }

// Common practice, no source.
var flankingWays = []FlankingWay{
	{"floor_under_wall", "floor running under the wall"},
	{"ceiling_over_wall", "ceiling or loft over the wall"},
	{"external_wall", "inner leaf of the external wall running past"},
	{"chimney_breast", "chimney breast"},
	{"return_wall", "return wall"},
	{"window_mullion", "window mullion or curtain wall"},
	{"stair_string", "stair string"},
	{"service_riser", "service riser or soil stack"},
	{"skirting_boards", "continuous skirting or floor boards"},
	{"ceiling_plenum", "plenum of a suspended ceiling"},
	{"party_wall_joists", "joists built into the party wall"},
	{"steel", "steel running past"},
	{"other", "another way, named in the note"},
}

// FlankingWays lists the ways round a surface that a survey looks for.
func FlankingWays() []FlankingWay { return flankingWays }

func flankingCodes() []string {
	codes := make([]string, len(flankingWays))
	for i, w := range flankingWays {
		codes[i] = w.Code
	}
	return codes
}

func flankingName(code string) string {
	for _, w := range flankingWays {
		if w.Code == code {
			return w.Name
		}
	}
	return words(code)
}

// Decisions on a way round.
const (
	FlankTreat      = "treat"
	FlankLeave      = "leave"
	FlankTellClient = "tell_client"
	FlankNotSeen    = "not_seen"
)

// FlankingDecisions lists them.
func FlankingDecisions() []string {
	return []string{FlankTreat, FlankLeave, FlankTellClient, FlankNotSeen}
}

// Valid checks place, way and decision.
func (d *FlankingDecision) Valid() error {
	if err := code("surface", d.Surface); err != nil {
		return err
	}
	if err := choice("path", d.Path, flankingCodes()...); err != nil {
		return err
	}
	if err := choice("decision", d.Decision, FlankingDecisions()...); err != nil {
		return err
	}
	if d.TreatedBy != "" {
		if err := code("treated_by", d.TreatedBy); err != nil {
			return err
		}
		if d.Decision != FlankTreat {
			return &InputError{Field: "treated_by", Value: d.TreatedBy, Hint: "only a way that is treated has a surface that treats it"}
		}
	}
	if d.Path == "other" && text("note", d.Note, 1, 4000) != nil {
		return &InputError{Field: "note", Value: "missing", Hint: "say which way it is"}
	}
	return d.valid()
}

// Fits refuses surfaces that the job does not have.
func (d *FlankingDecision) Fits(j *Job) error {
	if _, err := j.find(d.Surface); err != nil {
		return err
	}
	if d.TreatedBy != "" && j.Surface(d.TreatedBy) == nil {
		return &InputError{Field: "treated_by", Value: d.TreatedBy, Hint: "no surface of this job has that code"}
	}
	return nil
}

// names replaces what was decided on the same way before. Two who decide without knowing of each other dispute it.
func (d *FlankingDecision) names(j *Job) []Ref {
	s := j.Surface(d.Surface)
	if s == nil || d.Path == "other" {
		return nil
	}
	return bases(j, s.decisionsOn(d.Path))
}

func (d *FlankingDecision) apply(j *Job, r *Record) { j.put(r) }

func (s *Surface) decisionsOn(path string) []*Record {
	var rs []*Record
	for _, r := range s.of("flanking", 0) {
		if f, ok := r.What.(*FlankingDecision); ok && f.Path == path {
			rs = append(rs, r)
		}
	}
	return rs
}

func (d *FlankingDecision) says(*Job, *Record) string {
	says := "flanking by the " + flankingName(d.Path) + ": " + words(d.Decision)
	if d.TreatedBy != "" {
		says += " with " + d.TreatedBy
	}
	return says
}
