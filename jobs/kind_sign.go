package jobs

var _ = registerKind[Sign]("sign", 2)

// Sign is the word of a person without an account: accepted, or declined.
type Sign struct {
	Common
	anyone
	Surface   string `json:"surface,omitempty" on:"surface"`
	Name      string `json:"name" sealed:"person"`
	Role      string `json:"role"`
	Statement string `json:"statement"`
	What      string `json:"what"`
	Flanking  string `json:"flanking,omitempty"` // the way round the surface that is meant
	Means     string `json:"means,omitempty"`
}

// SignMeans lists how a person without an account signs.
func SignMeans() []string { return []string{"typed", "finger", "paper"} }

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
	if d.Flanking != "" {
		if d.Surface == "" {
			return &InputError{Field: "surface", Value: "missing", Hint: "name the surface that the sound goes round"}
		}
		if err := choice("flanking", d.Flanking, flankingCodes()...); err != nil {
			return err
		}
	}
	if d.Means != "" {
		if err := choice("means", d.Means, SignMeans()...); err != nil {
			return err
		}
	}
	return d.valid()
}

// Fits refuses a surface that the job does not have, and a drawn or paper signature without its picture.
func (d *Sign) Fits(j *Job) error {
	if (d.Means == "finger" || d.Means == "paper") && len(d.Photos) == 0 {
		return &InputError{Field: "photos", Value: "missing", Hint: "a signature by " + d.Means + " needs its picture"}
	}
	return AtLayer{Surface: d.Surface}.Fits(j)
}

// names points to the decision that the signature is about: a later decision stands by itself again.
func (d *Sign) names(j *Job) []Ref {
	s := j.Surface(d.Surface)
	if s == nil || d.Flanking == "" {
		return nil
	}
	return refsTo(Sees, j.heads(s.decisionsOn(d.Flanking), j.now()))
}

func (d *Sign) apply(j *Job, r *Record) { j.put(r) }

func (d *Sign) says(*Job, *Record) string {
	return d.Name + ", " + d.Role + ", " + d.Statement + ": " + d.What
}
