package demo

import (
	"regexp"
	"time"
)

var moment = regexp.MustCompile(`20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ`)

// before moves the days of the story back by whole days until all of it lies before now: work that is done can't lie ahead, and the clock of
// this machine may well be behind that of whoever wrote the story.
func before(story []byte, now time.Time) []byte {
	latest := time.Time{}
	for _, m := range moment.FindAll(story, -1) {
		if t, err := time.Parse(time.RFC3339, string(m)); err == nil && t.After(latest) {
			latest = t
		}
	}
	days := 0
	for latest.AddDate(0, 0, -days).After(now) {
		days++
	}
	if days == 0 {
		return story
	}
	return moment.ReplaceAllFunc(story, func(m []byte) []byte {
		t, err := time.Parse(time.RFC3339, string(m))
		if err != nil {
			return m
		}
		return []byte(t.AddDate(0, 0, -days).Format(time.RFC3339))
	})
}
