package jobs

import "tacet/acoustics"

var _ = registerKind[SoundTest]("sound_test", 1)

// SoundTest is a measured result between two rooms. A limit is a hard line: a shortfall of any size fails.
type SoundTest struct {
	Common
	anyone
	Quantity      string          `json:"quantity"`
	ValueDB       *float64        `json:"value_db,omitempty"`
	BandsDB       acoustics.Curve `json:"bands_db,omitzero"`
	SourceRoom    string          `json:"source_room"`
	ReceivingRoom string          `json:"receiving_room"`
	Surfaces      []string        `json:"surfaces"`
	Body          string          `json:"body"`
	Accreditation string          `json:"accreditation,omitempty"`
}

// Valid checks quantity, value, rooms and who tested.
func (d *SoundTest) Valid() error {
	if err := choice("quantity", d.Quantity, DnTwCtr, DnTw, LnTw, Rw); err != nil {
		return err
	}
	if err := needed(LevelRange, "value_db", d.ValueDB); err != nil {
		return err
	}
	for _, f := range []struct{ field, v string }{{"source_room", d.SourceRoom}, {"receiving_room", d.ReceivingRoom}, {"body", d.Body}} {
		if err := text(f.field, f.v, 1, 200); err != nil {
			return err
		}
	}
	for i, c := range d.Surfaces {
		if err := code("surfaces["+itoa(i)+"]", c); err != nil {
			return err
		}
	}
	if err := text("accreditation", d.Accreditation, 0, 200); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses surfaces that the job does not have.
func (d *SoundTest) Fits(j *Job) error {
	for i, c := range d.Surfaces {
		if j.Surface(c) == nil {
			return &InputError{Field: "surfaces[" + itoa(i) + "]", Value: c, Hint: "no surface of this job has that code"}
		}
	}
	return nil
}

func (d *SoundTest) apply(j *Job, r *Record) { j.put(r) }
