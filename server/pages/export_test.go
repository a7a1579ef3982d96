package pages

import (
	"time"
)

// RenderZero renders a page for the empty view that it is registered with.
func RenderZero(p Page) error {
	_, err := render(p.Name, p.View)
	return err
}

// What the tests look at from outside.
var (
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
