package acoustics

import (
	"errors"
	"math"
)

// RoomInput asks for a site value from laboratory values: airborne with rw_db, or impact with lnw_db.
type RoomInput struct {
	// RwDB, CDB, CtrDB are R_w and its terms in dB.
	RwDB  *float64 `json:"rw_db,omitempty"`
	CDB   *float64 `json:"c_db,omitempty"`
	CtrDB *float64 `json:"ctr_db,omitempty"`
	// SeparatingAreaM2 is S_s in m².
	SeparatingAreaM2 *float64 `json:"separating_area_m2,omitempty"`
	// ReceivingVolumeM3 is V in m³.
	ReceivingVolumeM3 *float64 `json:"receiving_volume_m3,omitempty"`
	// Flanking are the paths beside the direct one; left out or empty: none.
	Flanking []FlankingPath `json:"flanking,omitempty"`
	// LnwDB and CIDB are L_n,w and its term in dB.
	LnwDB *float64 `json:"lnw_db,omitempty"`
	CIDB  *float64 `json:"ci_db,omitempty"`
	// FlankingKDB is the correction K for flanking of impact sound in dB.
	FlankingKDB *float64 `json:"flanking_k_db,omitempty"`
}

// FlankingPath is one path: its R_ij,w, or what it follows from.
type FlankingPath struct {
	// RijWDB is R_ij,w in dB, 0 to 150.
	RijWDB *float64 `json:"rij_w_db,omitempty"`
	// Path is Ff, Fd or Df.
	Path string `json:"path,omitempty"`
	// RiWDB and RjWDB are R_w of the two elements in dB.
	RiWDB *float64 `json:"ri_w_db,omitempty"`
	RjWDB *float64 `json:"rj_w_db,omitempty"`
	// KijDB is the vibration reduction index of the junction in dB.
	KijDB *float64 `json:"kij_db,omitempty"`
	// LengthM is the length of the junction in m.
	LengthM *float64 `json:"length_m,omitempty"`
	// DeltaRDB is the improvement by linings on the path in dB.
	DeltaRDB *float64 `json:"delta_r_db,omitempty"`
}

// RoomResult is a site value to 0.1 dB; fields that were not asked for are nil.
type RoomResult struct {
	RPrimeWDB  *float64 `json:"r_prime_w_db,omitempty"`
	DnTwDB     *float64 `json:"dntw_db,omitempty"`
	DnTwCtrDB  *float64 `json:"dntw_ctr_db,omitempty"`
	LPrimeNwDB *float64 `json:"l_prime_nw_db,omitempty"`
	LnTwDB     *float64 `json:"lntw_db,omitempty"`
	// Parts explain the way from laboratory to site: each path by itself and its share of what arrives, 0 to 1.
	Parts []RoomPart `json:"parts,omitempty"`
}

// RoomPart is one path into the receiving room.
type RoomPart struct {
	// Path is direct, or flanking[0] and so on.
	Path string `json:"path"`
	// RDB is R_w of the direct path or R_ij,w, in dB.
	RDB float64 `json:"r_db"`
	// Share is its part of the sound energy that arrives.
	Share float64 `json:"share"`
}

// Ranges of a room conversion.
var (
	LevelRange  = Range{Min: -20, Max: 150, Unit: "dB"}
	TermRange   = Range{Min: -50, Max: 50, Unit: "dB"}
	AreaRange   = Range{Min: 0, Max: 1000, Above: true, Unit: "m²"}
	VolumeRange = Range{Min: 0, Max: 100000, Above: true, Unit: "m³"}
	LengthRange = Range{Min: 0, Max: 1000, Above: true, Unit: "m"}
)

// needed checks a value that must be there.
func (r Range) needed(field string, v *float64) error {
	if v == nil {
		return &InputError{Field: field, Value: "missing", Range: r.span(), Unit: r.Unit}
	}
	return r.Check(field, *v)
}

// Valid checks that one of airborne and impact is asked for, with all it needs.
func (in RoomInput) Valid() error {
	switch {
	case in.RwDB == nil && in.LnwDB == nil:
		return &InputError{Field: "rw_db", Value: "missing", Hint: "give rw_db for airborne sound or lnw_db for impact sound"}
	case in.RwDB != nil && in.LnwDB != nil:
		return &InputError{Field: "lnw_db", Value: "given beside rw_db", Hint: "ask for airborne or impact sound, one at a time"}
	case in.LnwDB != nil:
		return in.validImpact()
	}
	errs := []error{
		LevelRange.Check("rw_db", *in.RwDB),
		TermRange.checkOptional("c_db", in.CDB),
		TermRange.checkOptional("ctr_db", in.CtrDB),
		AreaRange.needed("separating_area_m2", in.SeparatingAreaM2),
		VolumeRange.needed("receiving_volume_m3", in.ReceivingVolumeM3),
	}
	if in.CIDB != nil || in.FlankingKDB != nil {
		errs = append(errs, &InputError{Field: "lnw_db", Value: "missing", Hint: "ci_db and flanking_k_db belong to impact sound"})
	}
	for i, p := range in.Flanking {
		errs = append(errs, p.Valid(indexed("flanking", i)))
	}
	return errors.Join(errs...)
}

func (in RoomInput) validImpact() error {
	errs := []error{
		LevelRange.Check("lnw_db", *in.LnwDB),
		TermRange.checkOptional("ci_db", in.CIDB),
		Range{Min: 0, Max: 30, Unit: "dB"}.checkOptional("flanking_k_db", in.FlankingKDB),
		VolumeRange.needed("receiving_volume_m3", in.ReceivingVolumeM3),
	}
	if in.CDB != nil || in.CtrDB != nil || len(in.Flanking) > 0 {
		errs = append(errs, &InputError{Field: "rw_db", Value: "missing", Hint: "c_db, ctr_db and flanking belong to airborne sound"})
	}
	return errors.Join(errs...)
}

// Valid checks one path: rij_w_db alone, or what it follows from.
func (p FlankingPath) Valid(path string) error {
	if p.RijWDB != nil {
		if p.Path != "" || p.RiWDB != nil || p.RjWDB != nil || p.KijDB != nil || p.LengthM != nil || p.DeltaRDB != nil {
			return &InputError{Field: join(path, "rij_w_db"), Value: "given beside what it follows from", Hint: "give rij_w_db alone, or the others without it"}
		}
		return LevelRange.Check(join(path, "rij_w_db"), *p.RijWDB)
	}
	return errors.Join(
		oneOf(join(path, "path"), p.Path, "Ff", "Fd", "Df"),
		LevelRange.needed(join(path, "ri_w_db"), p.RiWDB),
		LevelRange.needed(join(path, "rj_w_db"), p.RjWDB),
		TermRange.needed(join(path, "kij_db"), p.KijDB),
		LengthRange.needed(join(path, "length_m"), p.LengthM),
		TermRange.checkOptional(join(path, "delta_r_db"), p.DeltaRDB),
	)
}

// RijW returns R_ij,w in dB of the path beside a separating element of area S_s in m²:
//
//	R_ij,w = (R_i,w + R_j,w)/2 + ΔR_ij,w + K_ij + 10 lg(S_s/(l0 l_ij)),  l0 = 1 m;  S_s, l_ij above 0
//
// Source: EN 12354-1:2000 and ISO 12354-1:2017, simplified model; not yet compared with the printed text.
func (p FlankingPath) RijW(separatingArea float64) float64 {
	if p.RijWDB != nil {
		return *p.RijWDB
	}
	r := (*p.RiWDB+*p.RjWDB)/2 + *p.KijDB + 10*math.Log10(separatingArea / *p.LengthM)
	if p.DeltaRDB != nil {
		r += *p.DeltaRDB
	}
	return r
}

// Site converts to the site, to 0.1 dB:
//
//	R'_w = -10 lg(10^(-R_w/10) + Σ 10^(-R_ij,w/10)),  D_nT,w = R'_w + 10 lg(0.32 V/S_s)
//	L'_n,w = L_n,w + K,                               L'_nT,w = L'_n,w - 10 lg(0.032 V)
//
// D_nT,w + C_tr takes C_tr of the separating element: flanking changes it little, but it is an assumption.
// Source: ISO 12354-1:2017 and ISO 12354-2:2017, simplified models; not yet compared with the printed text.
func (in RoomInput) Site() (RoomResult, error) {
	if err := in.Valid(); err != nil {
		return RoomResult{}, err
	}
	var out RoomResult
	v := *in.ReceivingVolumeM3
	if in.LnwDB != nil {
		l := *in.LnwDB
		if in.FlankingKDB != nil {
			l += *in.FlankingKDB
		}
		out.LPrimeNwDB = new(tenth(l))
		out.LnTwDB = new(tenth(l - 10*math.Log10(0.032*v)))
		return out, nil
	}
	s := *in.SeparatingAreaM2
	out.Parts = []RoomPart{{Path: "direct", RDB: tenth(*in.RwDB), Share: math.Pow(10, -*in.RwDB/10)}}
	tau := out.Parts[0].Share
	for i, p := range in.Flanking {
		r := p.RijW(s)
		out.Parts = append(out.Parts, RoomPart{Path: indexed("flanking", i), RDB: tenth(r), Share: math.Pow(10, -r/10)})
		tau += out.Parts[i+1].Share
	}
	for i := range out.Parts {
		out.Parts[i].Share = math.Round(out.Parts[i].Share/tau*1000) / 1000
	}
	rPrime := -10 * math.Log10(tau)
	dnt := rPrime + 10*math.Log10(0.32*v/s)
	out.RPrimeWDB, out.DnTwDB = new(tenth(rPrime)), new(tenth(dnt))
	if in.CtrDB != nil {
		out.DnTwCtrDB = new(tenth(dnt + *in.CtrDB))
	}
	return out, nil
}
