package pages

import (
	"time"
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
	Chance      = chance
	Uncertainty = uncertainty
	PhotoWords  = photoWords

	ForecastSentence = forecastSentence
	ImpactSentence   = impactSentence
)

// StatusWords is the status line of a link.
func StatusWords(l Link, entries, photos int) (says, do string) {
	s := statusOf(l, entries, photos, func(t time.Time) string { return t.Format("15:04") })
	return s.Says, s.Do.Text
}
