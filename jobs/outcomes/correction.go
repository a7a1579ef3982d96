package outcomes

import (
	"fmt"
	"time"

	"tacet/jobs"
)

// CorrectionState tells whether new predictions are shown beside what the firm's own jobs make of them.
type CorrectionState struct {
	On     bool   `json:"on"`
	Reason string `json:"reason"`
	At     string `json:"at"` // RFC 3339, "" where nobody ever decided
}

// Corrected is a prediction of one quantity beside what the firm's measured jobs make of it.
type Corrected struct {
	Quantity    string  `json:"quantity"`
	PredictedDB float64 `json:"predicted_db"`
	ByDB        float64 `json:"by_db"`
	CorrectedDB float64 `json:"corrected_db"`
	// UDB is the standard uncertainty of CorrectedDB: how well the mean is known, and how jobs of one family differ.
	UDB  float64 `json:"u_db"`
	Jobs int     `json:"jobs"` // of the family that stand behind it; 0: only other families do
	Says string  `json:"says"`
}

// Correct says what the firm's measured jobs make of a forecast for a family, quantity by quantity; empty where too few
// were measured to say. Nobody has to have switched it on: whether it is shown is for the caller, by [Summary.Correction].
func (s Summary) Correct(family string, f jobs.Forecast) []Corrected {
	var rw *float64
	if f.RwDB != nil {
		v := float64(*f.RwDB)
		rw = &v
	}
	out := []Corrected{}
	for _, q := range s.Quantities {
		v := valueOf(q.Quantity, rw, f.DnTwDB, f.DnTwCtrDB, f.LnTwDB)
		shift, n := s.shift(family, q)
		if v == nil || shift == nil {
			continue
		}
		c := Corrected{Quantity: q.Quantity, PredictedDB: *v, ByDB: shift.MeanDB, CorrectedDB: *v + shift.MeanDB, UDB: shift.NextSDDB, Jobs: n}
		from := fmt.Sprintf("from %s of this family and the others", plural(n, "measured job", "measured jobs"))
		if n == 0 {
			from = "from other families alone: none of this one was measured"
		} else if !q.Partly {
			from = fmt.Sprintf("from %s of this family", plural(n, "measured job", "measured jobs"))
		}
		model := ""
		if u := spreadOf(q.Quantity, f.UDB, f.USiteDB); u != nil {
			model = fmt.Sprintf(" ± %.1f dB", *u)
		}
		c.Says = fmt.Sprintf("%s predicted %.1f dB%s; by the firm's own outcomes %.1f dB ± %.1f dB, a change of %s dB, %s", q.Words, c.PredictedDB, model, c.CorrectedDB, c.UDB, signed(c.ByDB), from)
		out = append(out, c)
	}
	return out
}

// shift is the mean difference to expect of the next job of a family; nil where too few were measured: five of the family
// where it stands alone, five of all where families are pooled.
func (s Summary) shift(family string, q Pooling) (*PooledView, int) {
	for _, f := range s.Families {
		if f.Code != family {
			continue
		}
		for _, d := range f.Differences {
			if d.Quantity == q.Quantity && d.Pooled != nil && (d.Own.N >= FewestForRate || q.Partly && q.Jobs >= FewestForRate) {
				return d.Pooled, d.Own.N
			}
		}
	}
	if q.Partly && q.Jobs >= FewestForRate {
		return q.Overall, 0
	}
	return nil, 0
}

// setting is one entry that switches the correction.
type setting struct {
	on     bool
	reason string
	at     time.Time
	order  string
}

func (b *Book) correction() CorrectionState {
	var last *setting
	for _, settings := range b.tallies.settings {
		for i, c := range settings {
			if last == nil || c.order > last.order {
				last = &settings[i]
			}
		}
	}
	if last == nil {
		return CorrectionState{}
	}
	return CorrectionState{last.on, last.reason, last.at.UTC().Format(time.RFC3339)}
}
