package jobs

import (
	"errors"
	"math"

	"tacet/acoustics"
)

// Forecasts are the three predictions of a surface. They are never mixed with each other or with a measured value.
type Forecasts struct {
	Specified Forecast `json:"specified"`
	Installed Forecast `json:"installed"`
	AsFound   Forecast `json:"as_found"`
}

// Forecast is what is predicted for the partition that a surface belongs to. What can't be honestly predicted is nil, and
// a note says why.
type Forecast struct {
	RwDB  *int `json:"rw_db"`
	CDB   *int `json:"c_db"`
	CtrDB *int `json:"ctr_db"`
	// UDB is the standard uncertainty (k = 1) of RwDB; USiteDB that of the values between rooms.
	UDB       *float64 `json:"u_db"`
	USiteDB   *float64 `json:"u_site_db"`
	DnTwDB    *float64 `json:"dntw_db"`
	DnTwCtrDB *float64 `json:"dntw_ctr_db"`
	LnTwDB    *float64 `json:"lntw_db"`
	// PMeets is the probability of meeting Target, the airborne target that the surface is judged by.
	PMeets    *float64         `json:"p_meets"`
	Target    *Target          `json:"target"`
	Validated bool             `json:"validated"`
	R         *acoustics.Curve `json:"r_db"`
	// FlankingUnknown is set where the values between rooms leave out what goes round because nobody knows it: they, and the chance, are the
	// most that it can be.
	FlankingUnknown bool     `json:"flanking_unknown"`
	Notes           []string `json:"notes"`

	unknown []*Record // faults whose effect is not known
}

// siteSpreadDB is the spread of the simplified flanking model, about 2 dB. Source: EN 12354-1:2000, clauses 4.4 and 5.
const siteSpreadDB = 2.0

// PredictSurface predicts the partition of a surface as specified, as installed, and as installed with the faults that
// checks found.
func (j *Job) PredictSurface(s *Surface) Forecasts {
	return Forecasts{
		Specified: j.forecast(s, asSpecified),
		Installed: j.forecast(s, asInstalled),
		AsFound:   j.forecast(s, asFound),
	}
}

// PredictStructure predicts the partition that all surfaces of a structure make together; nil without a surface.
func (j *Job) PredictStructure(st *Structure) *Forecasts {
	on := j.On(st)
	if len(on) == 0 {
		return nil
	}
	f := j.PredictSurface(on[0])
	return &f
}

// forecast predicts a surface on one basis; faults that without names are left out.
func (j *Job) forecast(s *Surface, b basis, without ...*Record) Forecast {
	f := Forecast{Notes: []string{}}
	if !b.whole() && !started(s) {
		f.Notes = append(f.Notes, "nothing is installed yet")
		return f
	}
	f.Notes = append(f.Notes, j.assumptionNotes(s)...)
	p, err := j.partitionOf(s, b, without...)
	if err != nil {
		f.Notes = append(f.Notes, err.Error())
		return f
	}
	f.Notes, f.unknown = append(f.Notes, p.notes...), p.unknown
	if len(p.Layers) == 0 {
		f.Notes = append(f.Notes, "neither the existing structure nor a layer is known")
		return f
	}
	got, err := p.predict()
	if err != nil {
		f.Notes = append(f.Notes, notPredicted(err, b))
		return f
	}
	u := math.Hypot(math.Hypot(got.UDB, math.Sqrt(p.spread)), j.assumedSpread(s))
	f.RwDB, f.CDB, f.CtrDB, f.UDB, f.Validated, f.R = &got.RwDB, &got.CDB, &got.CtrDB, &u, got.Validated, &got.R
	f.Notes = append(f.Notes, got.Notes...)
	j.onSite(&f, s, got)
	return f
}

// started tells whether anything of the surface is in place.
func started(s *Surface) bool {
	for _, l := range s.Layers {
		if l.Share > 0 {
			return true
		}
	}
	return false
}

func notPredicted(err error, b basis) string {
	var input *InputError
	if !b.whole() {
		return "not predicted yet: what is in place so far makes no complete partition"
	}
	if errors.As(err, &input) {
		return "not predicted: " + input.Error()
	}
	return "not predicted: " + err.Error()
}

// onSite goes from the laboratory to the rooms, where the room is known.
func (j *Job) onSite(f *Forecast, s *Surface, got acoustics.Prediction) {
	f.Target = j.airborneTarget(s)
	if f.Target != nil && f.Target.Quantity == Rw {
		p := acoustics.ProbabilityMeets(float64(got.RwDB), f.Target.ValueDB, *f.UDB, false)
		f.PMeets = &p
	}
	room := j.Room(s.Room)
	if room == nil || room.VolumeM3 == 0 {
		f.Notes = append(f.Notes, "no value between rooms: the volume of the receiving room is not known")
		return
	}
	area, rw, c, ctr := s.NetAreaM2(), float64(got.RwDB), float64(got.CDB), float64(got.CtrDB)
	in := acoustics.RoomInput{RwDB: &rw, CDB: &c, CtrDB: &ctr, SeparatingAreaM2: &area, ReceivingVolumeM3: &room.VolumeM3}
	if s.Flanking == nil || s.Flanking.Unknown {
		f.FlankingUnknown = true
		f.Notes = append(f.Notes, "flanking is not known: the values between rooms leave out what goes round the partition, and the finished result will be lower; the chance of meeting a target is at most the one given")
	} else {
		in.Flanking = s.Flanking.Paths
	}
	site, err := in.Site()
	if err != nil {
		f.Notes = append(f.Notes, "no value between rooms: "+err.Error())
		return
	}
	u := math.Hypot(*f.UDB, siteSpreadDB)
	f.DnTwDB, f.DnTwCtrDB, f.USiteDB = site.DnTwDB, site.DnTwCtrDB, &u
	if t := f.Target; t != nil {
		predicted := map[string]*float64{DnTw: f.DnTwDB, DnTwCtr: f.DnTwCtrDB}[t.Quantity]
		if predicted != nil {
			p := acoustics.ProbabilityMeets(*predicted, t.ValueDB, u, false)
			f.PMeets = &p
		}
	}
	if got.LnwDB != nil && s.Kind != Floor {
		// Impact sound is heard below: the room of a ceiling receives it, the room of the floor sends it.
		lnw, k := float64(*got.LnwDB), 0.0
		below := acoustics.RoomInput{LnwDB: &lnw, FlankingKDB: &k, ReceivingVolumeM3: &room.VolumeM3}
		if impact, err := below.Site(); err == nil {
			f.LnTwDB = impact.LnTwDB
			f.Notes = append(f.Notes, "impact sound between rooms leaves out flanking")
		}
	}
}
