package outcomes

import (
	"math"

	"tacet/jobs"
)

// quotes are the predictions that a job's outcomes are held against.
type quotes map[string]quoted

// quoted is the prediction of one surface.
type quoted struct {
	forecast jobs.Forecast
	frozen   bool
}

// predicted is one value of it.
type predicted struct {
	value, u *float64
	frozen   bool
}

// quotesOf predicts every surface as specified. Nothing was frozen when it was quoted, so what is specified now stands in,
// and says so.
func quotesOf(j *jobs.Job) quotes {
	q := quotes{}
	for _, s := range j.Surfaces {
		q[s.Code] = quoted{forecast: j.PredictSpecified(s)}
	}
	return q
}

// of gives the prediction of a quantity for a surface: of that quantity only, never one turned into another.
func (q quotes) of(_ *jobs.Job, s *jobs.Surface, quantity string) predicted {
	p := q[s.Code]
	f := p.forecast
	out := predicted{frozen: p.frozen, u: f.USiteDB}
	switch quantity {
	case jobs.DnTwCtr:
		out.value = f.DnTwCtrDB
	case jobs.DnTw:
		out.value = f.DnTwDB
	case jobs.LnTw:
		out.value = f.LnTwDB
	case jobs.Rw:
		if f.RwDB != nil {
			v := float64(*f.RwDB)
			out.value = &v
		}
		out.u = f.UDB
	}
	if out.value == nil {
		out.u = nil
	}
	return out
}

// margin is the lowest distance of the prediction from a target of the job, positive on the good side.
func (q quotes) margin(j *jobs.Job, s *jobs.Surface) (*float64, bool) {
	least := math.Inf(1)
	frozen := false
	for _, t := range j.Targets {
		p := q.of(j, s, t.Quantity)
		if p.value == nil {
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
