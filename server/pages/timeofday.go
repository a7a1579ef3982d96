package pages

import (
	"regexp"
	"strconv"
	"strings"
	"time"
)

// clockTime is a time of day as people write it: with a colon, a point or nothing between hours and minutes.
var clockTime = regexp.MustCompile(`^([01]?[0-9]|2[0-3])[:.]?([0-5][0-9])$`)

// timeOfDay reads a time of day as minutes since midnight. Hours alone are refused: 16 may as well be the minutes of something else.
func timeOfDay(s string) (minutes int, ok bool) {
	m := clockTime.FindStringSubmatch(strings.TrimSpace(s))
	if m == nil {
		return 0, false
	}
	hours, _ := strconv.Atoi(m[1]) // the pattern leaves digits only
	minutes, _ = strconv.Atoi(m[2])
	return hours*60 + minutes, true
}

// clockWords is a time of day as it is shown.
func clockWords(minutes int) string {
	return time.Date(2000, 1, 1, 0, minutes, 0, 0, time.UTC).Format("15:04")
}

// timeOn reads a time of a day; false where one of the two is none.
func timeOn(day, clock string, zone *time.Location) (time.Time, bool) {
	d, err := time.ParseInLocation(time.DateOnly, day, zone)
	minutes, ok := timeOfDay(clock)
	if err != nil || !ok {
		return time.Time{}, false
	}
	return time.Date(d.Year(), d.Month(), d.Day(), 0, minutes, 0, 0, zone), true
}
