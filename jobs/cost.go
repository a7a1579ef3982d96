package jobs

import (
	"fmt"
	"math"
	"slices"

	"tacet/acoustics"
)

// DefectCost is what one fault costs in dB and what putting it right is worth: differences of two predictions, with and
// without it, of the partition as found. What can't be calculated is nil.
type DefectCost struct {
	On     On
	Title  string
	Record *Record // that found the fault
	// LossDB is what the fault costs by itself: Rw with no fault less Rw with this one alone, in steps of 0.1 dB.
	LossDB *float64
	// WorthDB is what putting it right is worth while all other faults stay. It may be less than LossDB: a hole beside a
	// larger hole hardly matters.
	WorthDB *float64
	// UDB is the standard uncertainty (k = 1) of both differences. The two predictions share what is wrong with the model,
	// so it is smaller than that of each.
	UDB *float64
	// SpreadNowDB and SpreadThenDB are the standard uncertainty of the prediction as found, with and without the fault: all
	// that putting right a fault of unknown effect is sure to change.
	SpreadNowDB, SpreadThenDB *float64
	// ChanceNow and ChanceThen are the chances of meeting the target, as found and with this fault put right.
	ChanceNow, ChanceThen *float64
	Says                  string
}

// Our own figures for the uncertainty of a difference: the models of defects are simple, and good to about a third of what
// they give, to half where no measured table stands behind them; below half a dB nothing is told apart. What the
// calculation itself adds for a fault counts where it is more.
const (
	differenceShare   = 0.3
	unprovedShare     = 0.5
	differenceFloorDB = 0.5
)

// Costs lists what the open faults of the partition of a surface cost, in the order of its checks.
func (j *Job) Costs(s *Surface) []DefectCost {
	on := []*Surface{s}
	if st := j.Structure(s.Structure); st != nil {
		on = j.On(st)
	}
	faults := j.faultsOf(on)
	if len(faults) == 0 || s.Kind.Along() {
		return nil
	}
	all := make([]*Record, len(faults))
	for i, f := range faults {
		all[i] = f.Record
	}
	found, none := j.forecast(s, asFound), j.forecast(s, asFound, all...)
	var costs []DefectCost
	for i, f := range faults {
		others := append(append([]*Record{}, all[:i]...), all[i+1:]...)
		cured, alone := j.forecast(s, asFound, f.Record), j.forecast(s, asFound, others...)
		c := DefectCost{On: f.Record.On, Title: f.Check.Rule.Title, Record: f.Record, SpreadNowDB: found.UDB, SpreadThenDB: cured.UDB, ChanceNow: found.PMeets, ChanceThen: cured.PMeets}
		c.compare(none, alone, found, cured, f)
		costs = append(costs, c)
	}
	return costs
}

// compare takes the differences, unless the fault only widens the spread.
func (c *DefectCost) compare(none, alone, found, cured Forecast, f Fault) {
	a, b, x, y := oneDecimal(none), oneDecimal(alone), oneDecimal(found), oneDecimal(cured)
	name := fmt.Sprintf("%s %s on %s", f.Check.Rule.Code, Lower(f.Check.Rule.Title), f.Surface.Code)
	if f.Layer != nil {
		name += fmt.Sprintf(", layer %d", f.Layer.N)
	}
	if a == nil || b == nil || x == nil || y == nil {
		c.Says = name + ": not predicted"
		return
	}
	var d Defect
	if f.Check.Rule.Defect != nil {
		d = f.Check.Rule.Defect(f)
	}
	if d.Silent {
		c.Says = name + ": matters, but not for sound"
		return
	}
	if slices.Contains(alone.unknown, f.Record) {
		c.Says = fmt.Sprintf("%s: what it costs is not known; putting it right narrows the prediction from ± %.1f to ± %.1f dB", name, *found.UDB, *cured.UDB)
		return
	}
	share := differenceShare
	if d.Unproved {
		share = unprovedShare
	}
	loss, worth := round(*a-*b), round(*y-*x)
	u := max(differenceFloorDB, share*max(math.Abs(loss), math.Abs(worth)), math.Sqrt(max(0, *alone.UDB**alone.UDB-*none.UDB**none.UDB)))
	c.LossDB, c.WorthDB, c.UDB = &loss, &worth, &u
	c.Says = fmt.Sprintf("%s: costs %.1f dB by itself; putting it right is worth %.1f ± %.1f dB of Rw with the rest as it is", name, loss, worth, u)
}

// oneDecimal is Rw in steps of 0.1 dB, as the standard has it for comparisons.
func oneDecimal(f Forecast) *float64 {
	if f.R == nil {
		return nil
	}
	r, err := acoustics.RateAirborne(*f.R)
	if err != nil {
		return nil
	}
	return &r.OneDecimal
}
