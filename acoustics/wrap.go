package acoustics

import (
	"errors"
	"strconv"
)

// WrapInput asks how fast a steel member or pipe stops ringing with a wrap around a share of its length.
type WrapInput struct {
	// MemberKgM is the mass of the bare member in kg/m, MemberLossFactor its loss factor.
	MemberKgM        float64 `json:"member_kg_m"`
	MemberLossFactor float64 `json:"member_loss_factor"`
	// WrapKgM is the mass of the wrap in kg per m covered, WrapLossFactor its loss factor.
	WrapKgM        float64 `json:"wrap_kg_m"`
	WrapLossFactor float64 `json:"wrap_loss_factor"`
	// Share is the covered share of the length, 0 to 1.
	Share float64 `json:"share"`
	// Hz are the frequencies asked for.
	Hz []float64 `json:"hz"`
}

// WrapResult is the loss factor and the time to fall by 60 dB.
type WrapResult struct {
	LossFactor float64            `json:"loss_factor"`
	DecayS     map[string]float64 `json:"decay_s"`
	BareDecayS map[string]float64 `json:"bare_decay_s"`
	Notes      []string           `json:"notes"`
}

// Ranges of a wrap.
var (
	LineMassRange  = Range{Min: 0, Max: 2000, Above: true, Unit: "kg/m"}
	WrapMassRange  = Range{Min: 0, Max: 500, Unit: "kg/m"}
	ShareRange     = Range{Min: 0, Max: 1}
	FrequencyRange = Range{Min: 10, Max: 20000, Unit: "Hz"}
)

// Valid checks every field.
func (in WrapInput) Valid() error {
	errs := []error{
		LineMassRange.Check("member_kg_m", in.MemberKgM),
		LossFactorRange.Check("member_loss_factor", in.MemberLossFactor),
		WrapMassRange.Check("wrap_kg_m", in.WrapKgM),
		LossFactorRange.Check("wrap_loss_factor", in.WrapLossFactor),
		ShareRange.Check("share", in.Share),
	}
	if len(in.Hz) == 0 || len(in.Hz) > 100 {
		errs = append(errs, &InputError{Field: "hz", Value: "a list of " + strconv.Itoa(len(in.Hz)), Range: "1 to 100", Unit: "frequencies"})
	}
	for i, f := range in.Hz {
		errs = append(errs, FrequencyRange.Check(indexed("hz", i), f))
	}
	return errors.Join(errs...)
}

// WrapLoss returns η of a member of which a share s is wrapped by something that moves with it: an upper estimate.
//
//	η = η_m + η_w s μ_w/(μ + s μ_w)
//	member  μ     kg/m   above 0       loss  η_m
//	wrap    μ_w   kg/m   0 or more     loss  η_w
//	share   s            0 to 1
//
// Derived: shares of the vibrating energy. A wrap that slides or hangs loose adds less.
func WrapLoss(member, memberLoss, wrap, wrapLoss, share float64) float64 {
	return memberLoss + wrapLoss*share*wrap/(member+share*wrap)
}

// DecayTime returns T, the time in s in which a ring of loss factor η falls by 60 dB at a frequency in Hz: T = 2.2/(f η), f and η above 0.
// Source: ISO 12354-1:2017 (C.1); not yet compared with the printed text.
func DecayTime(frequency, eta float64) float64 { return 2.2 / (frequency * eta) }

// Ring calculates the member bare and wrapped. It gives decay times, never a level: how loud a member is depends on what strikes it.
func (in WrapInput) Ring() (WrapResult, error) {
	if err := in.Valid(); err != nil {
		return WrapResult{}, err
	}
	eta := WrapLoss(in.MemberKgM, in.MemberLossFactor, in.WrapKgM, in.WrapLossFactor, in.Share)
	out := WrapResult{LossFactor: significant(eta), DecayS: map[string]float64{}, BareDecayS: map[string]float64{}}
	for _, f := range in.Hz {
		key := strconv.FormatFloat(f, 'f', -1, 64)
		out.DecayS[key] = significant(DecayTime(f, eta))
		out.BareDecayS[key] = significant(DecayTime(f, in.MemberLossFactor))
	}
	out.Notes = []string{
		"upper estimate: the wrap is taken to move with the member; where it hangs loose it adds less",
		"decay times only: no promise of a level in dB follows from them",
	}
	if in.Share < 1 && in.Share > 0 {
		out.Notes = append(out.Notes, "the bare part rings through the wrapped part; a short cover already takes most of the ring away")
	}
	return out, nil
}

// significant rounds to four significant figures.
func significant(v float64) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	if err != nil {
		return v
	}
	return out
}
