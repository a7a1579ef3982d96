package jobs

var _ = registerKind[Ready]("ready", 1)

// Ready says that a layer may be looked at, and when it is meant to be covered.
type Ready struct {
	Common
	AtLayer
	anyone
	CoverAt string `json:"cover_at,omitempty"`
}

// Valid checks place and time.
func (d *Ready) Valid() error {
	if err := d.onLayer(); err != nil {
		return err
	}
	if err := timestamp("cover_at", d.CoverAt); err != nil {
		return err
	}
	return d.valid()
}

func (d *Ready) names(j *Job) []Ref { return d.listRef(j) }

func (d *Ready) apply(j *Job, r *Record) { j.put(r) }

func (*Ready) says(*Job, *Record) string { return "ready to be seen" }
