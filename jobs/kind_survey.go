package jobs

var _ = registerKind[Survey]("survey", 1)

// Survey is one finding of the survey, with how it is known.
type Survey struct {
	Common
	anyone
	Surface string `json:"surface,omitempty" on:"surface"`
	Room    string `json:"room,omitempty" on:"room"`
	Finding string `json:"finding"`
	Known   string `json:"known"`
}

// Valid wants the finding and how it is known.
func (d *Survey) Valid() error {
	if d.Surface != "" {
		if err := code("surface", d.Surface); err != nil {
			return err
		}
	}
	if d.Room != "" {
		if err := code("room", d.Room); err != nil {
			return err
		}
	}
	if err := text("finding", d.Finding, 1, 2000); err != nil {
		return err
	}
	if err := choice("known", d.Known, "seen", "drilled", "drawn", "guessed"); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses a place that the job does not have.
func (d *Survey) Fits(j *Job) error {
	if d.Room != "" && j.Room(d.Room) == nil {
		return &InputError{Field: "room", Value: d.Room, Hint: "no room has that code"}
	}
	return AtLayer{Surface: d.Surface}.Fits(j)
}

func (d *Survey) apply(j *Job, r *Record) { j.put(r) }
