package pages

import (
	"math"
	"strconv"
	"strings"
	"time"

	"tacet/jobs"
)

// Numbers leave with their unit, which stands after a thin space and never alone.
const thin = "\u202f"

// plusMinus stands between a value and its uncertainty; a line never ends between them.
const plusMinus = thin + "±" + thin

// decimal writes v with at most places decimals, without zeros at the end.
func decimal(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// quantity is a number as it was given, with its unit.
func quantity(v float64, unit string) string { return withUnit(decimal(v, 6), unit) }

func withUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + thin + unit
}

// pieces is a number of things in their unit: 12 sheets, 4.2 m.
func pieces(n float64, unit string) string {
	return withUnit(strings.Replace(decimal(n, 1), "-", "−", 1), jobs.Units(n, unit))
}

func massOf(v float64) string      { return withUnit(decimal(v, 2), "kg/m²") }
func thicknessOf(v float64) string { return withUnit(decimal(v, 1), "mm") }
func loadOf(v float64) string      { return withUnit(strconv.FormatFloat(v, 'f', 2, 64), "kN/m²") }
func shareOf(v float64) string     { return withUnit(decimal(v*100, 1), "%") }

// A measured level and a limit are written to the tenth where they have one: a limit is a hard line. A predicted one is written to the whole dB,
// since it is not known better.
func levelOf(v float64) string     { return withUnit(decimal(v, 1), "dB") }
func predictedOf(v float64) string { return withUnit(decimal(v, 0), "dB") }

// uncertainty is what stands behind ±, to the whole dB and never below 1.
func uncertainty(u float64) string {
	return strconv.FormatFloat(math.Max(1, math.Round(u)), 'f', 0, 64)
}

// chance is a probability in words that do not promise.
func chance(p float64) string {
	switch {
	case p > 0.99:
		return "above " + withUnit("99", "%")
	case p < 0.01:
		return "below " + withUnit("1", "%")
	}
	return withUnit(decimal(p*100, 0), "%")
}

// when is a time as people read it: 25 Nov 2026, 14:05.
func (p *Pages) when(t time.Time) string {
	if t.IsZero() {
		return "at no known time"
	}
	return t.In(p.deps.Zone).Format("2 Jan 2006, 15:04")
}

// clock is the time of today, or date and time of another day.
func (p *Pages) clock(t time.Time) string {
	t, now := t.In(p.deps.Zone), p.deps.Now().In(p.deps.Zone)
	if t.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return "today " + t.Format("15:04")
	}
	return p.when(t)
}

// targetWords is a target: "at least 43 dB DnT,w + Ctr".
func targetWords(t jobs.Target) string {
	bound := "at least "
	if t.Impact() {
		bound = "at most "
	}
	return bound + levelOf(t.ValueDB) + " " + jobs.QuantityName(t.Quantity) + targetOf(t)
}

// targetOf says what a target is for, where it is not for the whole job.
func targetOf(t jobs.Target) string {
	var of []string
	if t.Surface != "" {
		of = append(of, "surface "+t.Surface)
	}
	if t.Room != "" {
		of = append(of, "room "+t.Room)
	}
	if t.Element != "" {
		of = append(of, map[string]string{jobs.ElementWall: "walls", jobs.ElementFloor: "floors and ceilings"}[t.Element])
	}
	if len(of) == 0 {
		return ""
	}
	return " (" + strings.Join(of, ", ") + ")"
}

// waitFor says of records that a rule keeps out of the record until somebody has answered: "1 record waits for the supervisor".
func waitFor(n int, whom string) string {
	if n == 1 {
		return "1 record waits for " + whom
	}
	return jobs.Count(n, "record") + " wait for " + whom
}

// sentence starts with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	s = jobs.Capital(s)
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") || strings.HasSuffix(s, "!") {
		return s
	}
	return s + "."
}

// spaced reads a code word as people say it: could_not_see is "could not see".
func spaced[T ~string](s T) string { return strings.ReplaceAll(string(s), "_", " ") }

func itoa(n int) string { return strconv.Itoa(n) }
