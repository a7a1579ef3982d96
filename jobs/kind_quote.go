package jobs

import (
	"encoding/json"
	"math"
	"slices"
	"time"

	"tacet/acoustics"
)

var _ = registerKind[Quote]("quote", 1)

// Quote is what the client is offered. The program freezes the prediction of what is specified into it as it is recorded,
// so that nobody can polish it afterwards; with it go the assumptions it rests on.
type Quote struct {
	Common
	Surface    string   `json:"surface,omitempty" on:"surface"` // of one surface; else of the whole job
	Price      *float64 `json:"price,omitempty"`
	Currency   string   `json:"currency,omitempty"`
	ValidUntil string   `json:"valid_until,omitempty"` // a date
	// Variation says in words what changed after the first quote, which then still stands beside it; Pays says who pays.
	Variation string `json:"variation,omitempty"`
	Pays      string `json:"pays,omitempty" sealed:"person"`

	// Frozen and Assumes are written by the program.
	Frozen  []Frozen `json:"frozen,omitempty"`
	Assumes []string `json:"assumes,omitempty"`
}

// Frozen is the prediction of one surface as specified, at the moment of a quote. Values between rooms are nil where they
// could not be predicted.
type Frozen struct {
	Surface   string   `json:"surface"`
	List      string   `json:"list,omitempty"` // entry of the layer list
	MassKgM2  *float64 `json:"mass_kg_m2,omitempty"`
	RwDB      *float64 `json:"rw_db,omitempty"`
	CDB       *float64 `json:"c_db,omitempty"`
	CtrDB     *float64 `json:"ctr_db,omitempty"`
	UDB       *float64 `json:"u_db,omitempty"`
	DnTwDB    *float64 `json:"dntw_db,omitempty"`
	DnTwCtrDB *float64 `json:"dntw_ctr_db,omitempty"`
	LnTwDB    *float64 `json:"lntw_db,omitempty"`
	USiteDB   *float64 `json:"u_site_db,omitempty"`
	PMeets    *float64 `json:"p_meets,omitempty"`
}

// Payers lists who may pay for a variation.
func Payers() []string {
	return []string{"client", "landlord", "firm", "other_trade", "insurer", "not_agreed"}
}

// maxFrozen is how many surfaces one quote may freeze; a larger job is quoted surface by surface.
const maxFrozen = 80

// PriceRange is what a price may be; a variation may be a credit.
var PriceRange = acoustics.Range{Min: -1e9, Max: 1e9}

// Valid checks price, date and who pays.
func (d *Quote) Valid() error {
	if d.Surface != "" {
		if err := code("surface", d.Surface); err != nil {
			return err
		}
	}
	if err := optional(PriceRange, "price", d.Price); err != nil {
		return err
	}
	if err := text("currency", d.Currency, 0, 10); err != nil {
		return err
	}
	if d.ValidUntil != "" {
		if _, err := time.Parse(time.DateOnly, d.ValidUntil); err != nil {
			return &InputError{Field: "valid_until", Value: d.ValidUntil, Range: "a date such as 2026-12-24"}
		}
	}
	if err := text("variation", d.Variation, 0, 1000); err != nil {
		return err
	}
	if d.Variation != "" {
		if err := choice("pays", d.Pays, Payers()...); err != nil && !unreadable(d.Pays) {
			return err
		}
	} else if d.Pays != "" {
		return &InputError{Field: "pays", Value: d.Pays, Hint: "only a variation says who pays; name what changed with variation"}
	}
	if len(d.Frozen) > maxFrozen {
		return &InputError{Field: "surface", Value: "missing", Hint: "the job has more than " + itoa(maxFrozen) + " surfaces: quote them one by one"}
	}
	for i, f := range d.Frozen {
		if err := code("frozen["+itoa(i)+"].surface", f.Surface); err != nil {
			return err
		}
	}
	return d.valid()
}

// Allowed is the right of those who specify.
func (d *Quote) Allowed(_ *Job, a Author) error {
	if !a.Role.Specifies() {
		return refuse("a quote is given by the supervisor or the office")
	}
	return nil
}

// Fits refuses a surface that the job does not have.
func (d *Quote) Fits(j *Job) error { return AtLayer{Surface: d.Surface}.Fits(j) }

// fills freezes the prediction.
func (d *Quote) fills(j *Job, tree map[string]any) error {
	for _, key := range []string{"frozen", "assumes"} {
		if _, given := tree[key]; given {
			return &InputError{Field: key, Value: "given", Hint: "the program writes it itself, from the job as it stands"}
		}
	}
	frozen, assumes := []Frozen{}, []string{}
	for _, s := range j.Surfaces {
		if d.Surface != "" && compareCodes(d.Surface, s.Code) != 0 {
			continue
		}
		if d.Surface == "" && d.Variation != "" && !j.quoted(s) {
			continue // what was never offered is not offered by a change to something else
		}
		if len(s.Specified) > 0 {
			frozen = append(frozen, j.freeze(s))
		}
	}
	for _, f := range j.Assumptions() {
		if s := j.Surface(d.Surface); s == nil || f.Surface == "" || f.Surface == s.Code {
			assumes = append(assumes, f.Says())
		}
	}
	for key, v := range map[string]any{"frozen": frozen, "assumes": assumes} {
		data, err := json.Marshal(v)
		if err != nil {
			return err
		}
		if tree[key], err = parseTree(data); err != nil {
			return err
		}
	}
	return nil
}

// quoted tells whether a quote was ever given for a surface.
func (j *Job) quoted(s *Surface) bool {
	return slices.ContainsFunc(j.quoteRecords(), func(r *Record) bool {
		return slices.ContainsFunc(r.What.(*Quote).Frozen, func(f Frozen) bool { return compareCodes(f.Surface, s.Code) == 0 })
	})
}

// freeze takes down the prediction of a surface as specified, to the precision at which it is shown.
func (j *Job) freeze(s *Surface) Frozen {
	p := j.forecast(s, asSpecified)
	mass := s.SpecifiedMass()
	return Frozen{Surface: s.Code, List: s.List.ID, MassKgM2: &mass, RwDB: whole(p.RwDB), CDB: whole(p.CDB), CtrDB: whole(p.CtrDB), UDB: decimals(p.UDB, 1),
		DnTwDB: decimals(p.DnTwDB, 1), DnTwCtrDB: decimals(p.DnTwCtrDB, 1), LnTwDB: decimals(p.LnTwDB, 1), USiteDB: decimals(p.USiteDB, 1), PMeets: decimals(p.PMeets, 2)}
}

func whole(v *int) *float64 {
	if v == nil {
		return nil
	}
	f := float64(*v)
	return &f
}

func decimals(v *float64, n int) *float64 {
	if v == nil {
		return nil
	}
	scale := math.Pow10(n)
	f := math.Round(*v*scale) / scale
	return &f
}

// names replaces the quote on the same surface, or on the job; a variation stands beside it.
func (d *Quote) names(j *Job) []Ref {
	if d.Variation != "" {
		return nil
	}
	var list []*Record
	for _, r := range j.quoteRecords() {
		if q := r.What.(*Quote); q.Variation == "" && compareCodes(q.Surface, d.Surface) == 0 {
			list = append(list, r)
		}
	}
	return bases(j, list)
}

func (d *Quote) apply(j *Job, r *Record) { j.put(r) }

// quoteRecords lists every quote ever given, in fold order.
func (j *Job) quoteRecords() []*Record {
	var rs []*Record
	for _, r := range j.kinds["quote"] {
		if r.What != nil {
			rs = append(rs, r)
		}
	}
	return rs
}

func (d *Quote) says(*Job, *Record) string {
	says := "quote"
	if d.Variation != "" {
		says = "variation, paid by " + words(d.Pays) + ": " + d.Variation
	}
	if d.Price != nil {
		says += ", " + trim(*d.Price) + " " + d.Currency
	}
	return says + ", predictions of " + itoa(len(d.Frozen)) + " surfaces frozen"
}
