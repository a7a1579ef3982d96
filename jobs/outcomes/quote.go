package outcomes

import (
	"math"
	"strings"
	"sync"
	"time"

	"tacet/jobs"
)

// quotes are the predictions that a job's outcomes are held against, by surface.
type quotes map[string]*quoted

// quoted is what one surface was predicted to do.
type quoted struct {
	frozen []jobs.FrozenView    // in force, of the layer list that is built; first given first
	now    func() jobs.Forecast // of what is specified now; worked out when first asked for
}

// predicted is one value of it.
type predicted struct {
	value, u *float64
	frozen   bool
}

// quotesOf collects what quotes froze. Only where nothing was frozen is anything predicted: over many jobs that takes long.
func quotesOf(j *jobs.Job) quotes {
	given := j.Quotes()
	q := quotes{}
	for _, s := range j.Surfaces {
		p := &quoted{now: sync.OnceValue(func() jobs.Forecast { return j.PredictSpecified(s) })}
		for _, g := range given {
			for _, f := range g.Frozen {
				if g.InForce && strings.EqualFold(f.Surface, s.Code) && s.List != nil && f.List == s.List.ID {
					p.frozen = append(p.frozen, jobs.FrozenView{Quote: g.ID, At: g.At, Frozen: f})
				}
			}
		}
		q[s.Code] = p
	}
	return q
}

// of gives the prediction of a quantity for a surface, of that quantity only, never one turned into another: what the
// first quote froze for the layers that are built, if it was given before the time asked for, so that nobody could polish
// it afterwards; else what is predicted of the specification now, which is marked as not frozen. A quote for other layers
// says nothing about these. The zero time asks for any.
func (q quotes) of(s *jobs.Surface, quantity string, before time.Time) predicted {
	p := q[s.Code]
	for _, f := range p.frozen {
		at, err := time.Parse(time.RFC3339, f.At)
		if v := valueOf(quantity, f.RwDB, f.DnTwDB, f.DnTwCtrDB, f.LnTwDB); v != nil && err == nil && (before.IsZero() || !at.After(before)) {
			return predicted{v, spreadOf(quantity, f.UDB, f.USiteDB), true}
		}
	}
	f := p.now()
	var rw *float64
	if f.RwDB != nil {
		v := float64(*f.RwDB)
		rw = &v
	}
	v := valueOf(quantity, rw, f.DnTwDB, f.DnTwCtrDB, f.LnTwDB)
	if v == nil {
		return predicted{}
	}
	return predicted{v, spreadOf(quantity, f.UDB, f.USiteDB), false}
}

func valueOf(quantity string, rw, dntw, dntwCtr, lntw *float64) *float64 {
	switch quantity {
	case jobs.Rw:
		return rw
	case jobs.DnTw:
		return dntw
	case jobs.DnTwCtr:
		return dntwCtr
	case jobs.LnTw:
		return lntw
	}
	return nil
}

// spreadOf is the standard uncertainty that goes with a quantity; for impact sound none is predicted.
func spreadOf(quantity string, u, site *float64) *float64 {
	switch quantity {
	case jobs.Rw:
		return u
	case jobs.DnTw, jobs.DnTwCtr:
		return site
	}
	return nil
}

// roundAboutUnknown tells whether a prediction between rooms leaves out what goes round the surface.
func roundAboutUnknown(s *jobs.Surface, quantity string) bool {
	return quantity != jobs.Rw && (s.Flanking == nil || s.Flanking.Unknown)
}

// margin is the lowest distance of the prediction from a target of the job, positive on the good side. A prediction that
// leaves out what goes round has none: it would look better than it is.
func (q quotes) margin(j *jobs.Job, s *jobs.Surface) (*float64, bool) {
	least, frozen := math.Inf(1), false
	for _, t := range j.TargetsFor(s) {
		p := q.of(s, t.Quantity, time.Time{})
		if p.value == nil || roundAboutUnknown(s, t.Quantity) {
			continue
		}
		m := *p.value - t.ValueDB
		if t.Impact() {
			m = -m
		}
		if m < least {
			least, frozen = m, p.frozen
		}
	}
	if math.IsInf(least, 1) {
		return nil, false
	}
	return &least, frozen
}
