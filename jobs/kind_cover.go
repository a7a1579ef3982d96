package jobs

var _ = registerKind[Cover]("cover", 1)

// Cover says that a layer is covered by something that is no layer of the list: a finish over the last one.
type Cover struct {
	Common
	AtLayer
	anyone
}

// Valid checks the place.
func (d *Cover) Valid() error {
	if err := d.onLayer(); err != nil {
		return err
	}
	return d.valid()
}

func (d *Cover) names(j *Job) []Ref { return append(d.listRef(j), j.knownOf(d.Surface, d.Layer)...) }

func (d *Cover) apply(j *Job, r *Record) { j.put(r) }

func (*Cover) says(*Job, *Record) string { return "covered" }
