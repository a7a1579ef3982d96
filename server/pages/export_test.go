package pages

import (
	"encoding/json"
	"time"

	"tacet/jobs"
)

// Render renders a page for a view.
func Render(p Page, view any) (string, error) {
	b, err := render(p.Name, view)
	return string(b), err
}

// What the tests look at from outside.
var (
	Particulars = particulars
	OwnPath     = ownPath
	Decimal     = decimal
	TimeOfDay   = timeOfDay
	ClockWords  = clockWords
	Chance      = chance
	Uncertainty = uncertainty
	PhotoWords  = photoWords
	Hatches     = hatches

	ForecastSentence = forecastSentence
	ImpactSentence   = impactSentence
)

// StatusWords is the status line of a link.
func StatusWords(l Link, entries, photos int) (says, do string) {
	s := statusOf(l, entries, photos, func(t time.Time) string { return t.Format("15:04") })
	return s.Says, s.Do.Text
}

// Said is what a record says, as JSON with the digits that were typed.
func Said(r *jobs.Record) string {
	b, err := json.Marshal(r.What)
	if err != nil {
		panic(err) // a record that was read can be written
	}
	return string(b)
}
