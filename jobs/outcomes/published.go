package outcomes

import (
	"io/fs"
	"math"

	"tacet/acoustics"
)

// Verify calculates every published value of statistics, in published/outcomes.
func Verify(fsys fs.FS) ([]acoustics.Verified, error) {
	return acoustics.VerifyRows(fsys, "published/outcomes/*.csv", calculators)
}

func whole(in acoustics.Arguments, key string) int {
	if len(in[key]) == 0 {
		return 0
	}
	return int(in[key][0])
}

// calculators make of a published row's input what its expected values are compared with.
var calculators = map[string]func(acoustics.Arguments) acoustics.Arguments{
	"wilson": func(in acoustics.Arguments) acoustics.Arguments {
		i := Wilson(whole(in, "events"), whole(in, "n"), 0.95)
		return acoustics.Arguments{"low": {i.Low}, "high": {i.High}}
	},
	"exact": func(in acoustics.Arguments) acoustics.Arguments {
		i := Exact(whole(in, "events"), whole(in, "n"), 0.95)
		return acoustics.Arguments{"low": {i.Low}, "high": {i.High}}
	},
	"at_most": func(in acoustics.Arguments) acoustics.Arguments {
		return acoustics.Arguments{"high": {AtMost(whole(in, "events"), whole(in, "n"), 0.95)}}
	},
	"difference": func(in acoustics.Arguments) acoustics.Arguments {
		d := DifferenceOf(whole(in, "a"), whole(in, "n"), whole(in, "b"), whole(in, "m"), 0.95)
		return acoustics.Arguments{"low": {d.Interval.Low}, "high": {d.Interval.High}}
	},
	"paired": func(in acoustics.Arguments) acoustics.Arguments {
		m := Paired(in["before"], in["after"], 0.95)
		if m.Mean == nil {
			return nil
		}
		return acoustics.Arguments{"n": {float64(m.N)}, "mean": {*m.Mean}, "low": {m.Interval.Low}, "high": {m.Interval.High}}
	},
	"kaplan_meier": verifySurvival,
	"firth":        verifyFirth,
}

func verifySurvival(in acoustics.Arguments) acoustics.Arguments {
	var units []Followed
	for i, at := range in["time"] {
		units = append(units, Followed{Time: at, Event: i < len(in["event"]) && in["event"][i] == 1})
	}
	steps := KaplanMeier(units, 0.95).Steps
	out := acoustics.Arguments{"steps": {float64(len(steps))}}
	for _, s := range steps {
		out["time"] = append(out["time"], s.Time)
		out["at_risk"] = append(out["at_risk"], float64(s.AtRisk))
		out["events"] = append(out["events"], float64(s.Events))
		out["free"] = append(out["free"], s.Free)
		out["se"] = append(out["se"], s.SE)
	}
	return out
}

// verifyFirth fits the published study of urinary tract infections, with its limits of 90 %.
func verifyFirth(in acoustics.Arguments) acoustics.Arguments {
	var ps []Pattern
	for i := range in["n"] {
		x := []float64{1}
		for _, c := range []string{"age", "oc", "vic", "vicl", "vis", "dia"} {
			x = append(x, in[c][i])
		}
		ps = append(ps, Pattern{X: x, Events: int(in["events"][i]), N: int(in["n"][i])})
	}
	f, err := FitFirth(ps)
	if err != nil {
		return nil
	}
	out := acoustics.Arguments{"beta": f.Beta}
	for i := range f.Beta {
		l, open, err := f.Profile(i, 0.90)
		if err != nil || open {
			l.Low, l.High = math.NaN(), math.NaN() // meets nothing
		}
		out["low"] = append(out["low"], l.Low)
		out["high"] = append(out["high"], l.High)
	}
	return out
}
