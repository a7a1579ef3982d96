package runner

import (
	"errors"
	"strings"
	"testing"

	"tacet/sync/replica"
)

// Each end of an exchange says what happened, what is safe, and, where somebody must do something, what. Wording: our own.
func TestEachEndSaysThreeThings(t *testing.T) {
	rep := replica.Report{Sent: 1, Waiting: 2, Photos: 3}
	for _, c := range []struct {
		rep                replica.Report
		err                error
		happened, safe, do string // do is "" where nothing is to be done
	}{
		{replica.Report{Sent: 2, Received: 1}, nil, "Sent 2, received 1", "All changes sent", ""},
		{rep, nil, "Sent 1 change", "2 changes still to send", ""},
		{replica.Report{Held: 1}, nil, "1 record waits for the supervisor", "nobody else counts on it yet", ""},
		{rep, replica.ErrUnreachable, "No connection", "Your work is saved here", ""},
		{rep, replica.ErrSignIn, "2 changes", "Nothing is lost", "Sign in to send"},
		{rep, replica.ErrRevoked, "This device was removed from the job. 2 changes not sent", "all is kept", "your supervisor"},
		{replica.Report{}, replica.ErrRevoked, "This device was removed from the job", "had been sent", ""},
		{rep, replica.ErrQuota, "the server has no room for more photos", "All records are sent", "tell the office"},
		{replica.Report{PhotoQuota: 95}, nil, "95% of the server's room for photos is used", "All changes sent", "tell the office"},
		{rep, replica.ErrTooOld, "before sending", "You can keep recording", "Update needed"},
		{rep, replica.ErrDiverged, "Not sent: this device and the server do not hold the same entries", "Everything is kept here", ""},
		{rep, errors.New("the disk is gone"), "Not sent: the disk is gone", "Everything is kept here", ""},
	} {
		says := Line(c.rep, c.err)
		for _, part := range []string{c.happened, c.safe, c.do} {
			if !strings.Contains(says, part) {
				t.Errorf("%v: %q does not say %q", c.err, says, part)
			}
		}
	}
}
