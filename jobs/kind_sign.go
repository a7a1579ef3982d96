package jobs

var _ = registerKind[Sign]("sign", 1)

// Sign is the word of a person without an account: accepted, or declined.
type Sign struct {
	Common
	anyone
	Surface   string `json:"surface,omitempty" on:"surface"`
	Name      string `json:"name"`
	Role      string `json:"role"`
	Statement string `json:"statement"`
	What      string `json:"what"`
}

// Valid wants who, as what, which word and on what.
func (d *Sign) Valid() error {
	if d.Surface != "" {
		if err := code("surface", d.Surface); err != nil {
			return err
		}
	}
	if err := text("name", d.Name, 1, 200); err != nil {
		return err
	}
	if err := text("role", d.Role, 1, 100); err != nil {
		return err
	}
	if err := choice("statement", d.Statement, "accepted", "declined"); err != nil {
		return err
	}
	if err := text("what", d.What, 1, 1000); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses a surface that the job does not have.
func (d *Sign) Fits(j *Job) error { return AtLayer{Surface: d.Surface}.Fits(j) }

func (d *Sign) apply(j *Job, r *Record) { j.put(r) }
