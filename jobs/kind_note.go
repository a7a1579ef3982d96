package jobs

var _ = registerKind[Note]("note", 2)

// Note is free text about the job, a surface or a layer.
type Note struct {
	Common
	AtLayer
	anyone
	Text string `json:"text" sealed:"person"`
}

// Valid wants the text.
func (d *Note) Valid() error {
	if err := d.anywhere(); err != nil {
		return err
	}
	if err := text("text", d.Text, 1, 4000); err != nil {
		return err
	}
	return d.valid()
}

func (d *Note) apply(j *Job, r *Record) { j.put(r) }

func (d *Note) says(*Job, *Record) string { return d.Text }
