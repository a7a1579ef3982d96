package jobs

var _ = registerKind[Describe]("job", 1)

// Describe opens a job, or describes it anew.
type Describe struct {
	Common
	Name    string   `json:"name" sealed:"place"`
	Site    string   `json:"site,omitempty" sealed:"place"`
	Targets []Target `json:"targets,omitempty"`
}

// Valid checks the name and the targets.
func (d *Describe) Valid() error {
	if err := text("name", d.Name, 1, 200); err != nil {
		return err
	}
	if err := text("site", d.Site, 0, 500); err != nil {
		return err
	}
	if len(d.Targets) > 20 {
		return &InputError{Field: "targets", Value: itoa(len(d.Targets)), Range: "at most 20"}
	}
	for i, t := range d.Targets {
		if err := t.valid("targets[" + itoa(i) + "]"); err != nil {
			return err
		}
	}
	return d.valid()
}

// Allowed lets anybody open a job; describing it anew is for those who specify.
func (d *Describe) Allowed(j *Job, a Author) error { return mayDescribe(a, len(j.about) > 0) }

func (d *Describe) names(j *Job) []Ref { return bases(j, j.about) }

func (d *Describe) apply(j *Job, r *Record) { j.about = append(j.about, r) }

func (d *Describe) says(*Job, *Record) string { return "job: " + d.Name }

// mayDescribe is the right to describe: anybody may put something new on record, and only those who specify may change it.
func mayDescribe(a Author, exists bool) error {
	if exists && !a.Role.Specifies() {
		return refuse("the site team may not change what is described or specified; ask for a substitution, or the supervisor or the office")
	}
	return nil
}

// bases names the descriptions that a new one replaces: those in force as it is written.
func bases(j *Job, list []*Record) []Ref { return refsTo(Base, j.heads(list, j.now())) }

func refsTo(as As, rs []*Record) []Ref {
	refs := make([]Ref, len(rs))
	for i, r := range rs {
		refs[i] = Ref{r.Hash, as}
	}
	return refs
}
