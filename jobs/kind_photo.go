package jobs

var _ = registerKind[Photo]("photo", 1)

// Photo records a picture of a place; the file travels by its hash.
type Photo struct {
	Common
	AtLayer
	anyone
	Check string `json:"check,omitempty" on:"check"`
	File  string `json:"file" ref:"file"`
}

// Valid checks the place and that there is a file.
func (d *Photo) Valid() error {
	if err := d.anywhere(); err != nil {
		return err
	}
	if d.Check != "" {
		if _, ok := RuleOf(d.Check); !ok {
			return &InputError{Field: "check", Value: d.Check, Range: "K01 to K50"}
		}
	}
	if d.File == "" {
		return &InputError{Field: "file", Value: "missing", Hint: "give a photo, JPEG or PNG"}
	}
	return d.valid()
}

func (d *Photo) apply(j *Job, r *Record) { j.put(r) }

func (*Photo) says(*Job, *Record) string { return "photo" }
