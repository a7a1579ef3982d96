package jobs

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"tacet/acoustics"
)

var _ = registerKind[SoundTest]("sound_test", 1)

// SoundTest is a measured result between two rooms. A limit is a hard line: a shortfall of any size fails, see
// [Job.TestVerdicts]. Where bands or the whole measurement are given, the program works the value out and writes it.
type SoundTest struct {
	Common
	anyone
	Quantity      string               `json:"quantity"`
	ValueDB       *float64             `json:"value_db,omitempty"`
	CDB           *float64             `json:"c_db,omitempty"`
	CtrDB         *float64             `json:"ctr_db,omitempty"`
	CIDB          *float64             `json:"ci_db,omitempty"`
	BandsDB       acoustics.Curve      `json:"bands_db,omitzero"`      // of the quantity itself: D_nT, L'_nT or R
	BandsPasted   string               `json:"bands_pasted,omitempty"` // the same as text, from a spreadsheet or a CSV file
	Decimal       Decimal              `json:"decimal,omitempty"`      // of the text: point or comma
	FieldTest     *acoustics.FieldTest `json:"fieldtest,omitempty"`
	SourceRoom    string               `json:"source_room"`
	ReceivingRoom string               `json:"receiving_room"`
	Direction     string               `json:"direction,omitempty"` // horizontal, up or down
	Surfaces      []string             `json:"surfaces"`
	TestNo        string               `json:"test_no,omitempty"`
	Method        string               `json:"method,omitempty"`    // standard, with its year
	Condition     string               `json:"condition,omitempty"` // doors, furnishing, floor finish
	Body          string               `json:"body"`
	Accreditation string               `json:"accreditation,omitempty"`
}

// Valid checks quantity, value, rooms and who tested.
func (d *SoundTest) Valid() error {
	if err := choice("quantity", d.Quantity, Quantities()...); err != nil {
		return err
	}
	if err := d.validPasted(); err != nil {
		return err
	}
	if _, err := d.computed(); err != nil {
		return err
	}
	if d.ValueDB == nil {
		return &InputError{Field: "value_db", Value: "missing", Range: LevelRange.String(), Hint: "give the value, the bands, or the whole measurement"}
	}
	for _, f := range []struct {
		field string
		v     *float64
	}{{"value_db", d.ValueDB}, {"c_db", d.CDB}, {"ctr_db", d.CtrDB}, {"ci_db", d.CIDB}} {
		if err := optional(LevelRange, f.field, f.v); err != nil {
			return err
		}
	}
	for _, f := range []struct{ field, v string }{{"source_room", d.SourceRoom}, {"receiving_room", d.ReceivingRoom}, {"body", d.Body}} {
		if err := text(f.field, f.v, 1, 200); err != nil {
			return err
		}
	}
	if d.Direction != "" {
		if err := choice("direction", d.Direction, "horizontal", "up", "down"); err != nil {
			return err
		}
	}
	for i, c := range d.Surfaces {
		if err := code("surfaces["+itoa(i)+"]", c); err != nil {
			return err
		}
	}
	for _, f := range []struct {
		field, v string
		most     int
	}{{"accreditation", d.Accreditation, 200}, {"test_no", d.TestNo, 100}, {"method", d.Method, 200}, {"condition", d.Condition, 1000}} {
		if err := text(f.field, f.v, 0, f.most); err != nil {
			return err
		}
	}
	return d.valid()
}

const maxPasted = 4000

// validPasted checks the form of pasted text; what it says is read by [SoundTest.fills].
func (d *SoundTest) validPasted() error {
	if d.Decimal != DecimalUnknown {
		if err := choice(decimalField, d.Decimal, DecimalPoint, DecimalComma); err != nil {
			return err
		}
	}
	if d.BandsPasted != "" && d.BandsDB.Len() == 0 {
		return &InputError{Field: "bands_db", Value: "missing", Hint: "the bands of the pasted text stand beside it"}
	}
	return text("bands_pasted", d.BandsPasted, 0, maxPasted)
}

// singleNumbers is what bands or a measurement come to.
type singleNumbers struct{ value, c, ctr, ci *float64 }

// computed works the single numbers out of what was measured; nil where only the value was given.
func (d *SoundTest) computed() (*singleNumbers, error) {
	impact := d.Quantity == LnTw
	if t := d.FieldTest; t != nil {
		if d.BandsDB.Len() > 0 {
			return nil, &InputError{Field: "bands_db", Value: "given", Hint: "the measurement in fieldtest gives the bands itself"}
		}
		if d.Quantity == Rw {
			return nil, &InputError{Field: "fieldtest", Value: "given", Hint: "a measurement on site gives dntw, dntw_ctr or lntw, never the laboratory's rw"}
		}
		if kind := map[bool]string{true: "impact", false: "airborne"}[impact]; t.Kind != kind && t.Kind != "" {
			return nil, &InputError{Field: "fieldtest.kind", Value: t.Kind, Range: kind, Hint: "the quantity is " + d.Quantity}
		}
		r, err := t.Evaluate()
		if err != nil {
			return nil, under("fieldtest", firstOf(err))
		}
		if impact {
			return &singleNumbers{value: whole(r.LnTwDB), ci: whole(r.CIDB)}, nil
		}
		return d.airborne(*r.DnTwDB, *r.CDB, *r.CtrDB), nil
	}
	if d.BandsDB.Len() == 0 {
		return nil, nil
	}
	for hz, db := range d.BandsDB.All() {
		if err := LevelRange.Check(fmt.Sprintf("bands_db.%d", hz), db); err != nil {
			return nil, err
		}
	}
	rated, err := acoustics.RateAirborne(d.BandsDB)
	if impact {
		rated, err = acoustics.RateImpact(d.BandsDB)
	}
	if err != nil {
		var input *InputError
		if errors.As(err, &input) {
			input.Field = "bands_db"
		}
		return nil, err
	}
	if impact {
		return &singleNumbers{value: whole(&rated.Value), ci: whole(&rated.CI)}, nil
	}
	return d.airborne(rated.Value, rated.C, rated.Ctr), nil
}

func (d *SoundTest) airborne(value, c, ctr int) *singleNumbers {
	sum := value
	if d.Quantity == DnTwCtr {
		sum += ctr
	}
	return &singleNumbers{value: whole(&sum), c: whole(&c), ctr: whole(&ctr)}
}

// fills writes the bands of pasted text, and what the bands or the measurement come to where that was not typed.
func (d *SoundTest) fills(_ *Job, tree map[string]any) error {
	if d.BandsPasted != "" {
		if d.BandsDB.Len() > 0 {
			return &InputError{Field: "bands_db", Value: "given", Hint: "give the bands once: as bands_db or as bands_pasted"}
		}
		c, err := ParseBands(d.BandsPasted, d.Decimal)
		if err != nil {
			return err
		}
		d.BandsDB = c
		bands := map[string]any{}
		for hz, db := range c.All() {
			bands[itoa(hz)] = json.Number(trim(db))
		}
		tree["bands_db"] = bands
	}
	n, err := d.computed()
	if n == nil || err != nil {
		return err
	}
	for key, v := range map[string]*float64{"value_db": n.value, "c_db": n.c, "ctr_db": n.ctr, "ci_db": n.ci} {
		if _, typed := tree[key]; !typed && v != nil {
			tree[key] = json.Number(trim(*v))
		}
	}
	return nil
}

// Fits refuses surfaces that the job does not have, a value that is not that of the bands unless a note says why, and what can't be replaced.
func (d *SoundTest) Fits(j *Job) error {
	for i, c := range d.Surfaces {
		if j.Surface(c) == nil {
			return &InputError{Field: "surfaces[" + itoa(i) + "]", Value: c, Hint: "no surface of this job has that code"}
		}
	}
	n, err := d.computed()
	if err != nil {
		return err
	}
	if n != nil && *n.value != *d.ValueDB && d.Note == "" {
		return &InputError{Field: "value_db", Value: trim(*d.ValueDB), Unit: "dB", Hint: "the bands give " + trim(*n.value) + " dB; correct one of them, or say in the note why they differ"}
	}
	return d.fitsOver(j)
}

// fitsOver lets a test replace another of the same quantity only, with the reason: a failed test is not made to go away in silence.
func (d *SoundTest) fitsOver(j *Job) error {
	if d.Over == "" {
		return nil
	}
	r := j.byID[d.Over]
	if r == nil {
		return &InputError{Field: "over", Value: d.Over, Hint: "name the sound test that this one replaces"}
	}
	before, ok := r.What.(*SoundTest)
	if !ok {
		return &InputError{Field: "over", Value: d.Over, Hint: "that entry is a " + r.Kind + " and no sound test"}
	}
	if before.Quantity != d.Quantity {
		return &InputError{Field: "over", Value: QuantityName(before.Quantity), Hint: "this test is of " + QuantityName(d.Quantity) + "; it replaces a test of the same quantity only"}
	}
	if strings.TrimSpace(d.Note) == "" {
		return &InputError{Field: "note", Value: "missing", Hint: "say in the note why this test replaces the earlier one"}
	}
	return nil
}

// MeasuredDB is the value that counts: the worse one where the value given and the one that the bands give differ.
func (d *SoundTest) MeasuredDB() float64 {
	v := value(d.ValueDB)
	n, err := d.computed()
	if n == nil || err != nil {
		return v
	}
	if d.Quantity == LnTw {
		return max(v, *n.value)
	}
	return min(v, *n.value)
}

func (d *SoundTest) apply(j *Job, r *Record) { j.put(r) }

func (d *SoundTest) says(*Job, *Record) string {
	return fmt.Sprintf("measured %s %s dB by %s", QuantityName(d.Quantity), trim(value(d.ValueDB)), d.Body)
}
