package accounts

import (
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/sync/replica"
)

// The kinds of error are those of the exchange, so that client and server need one table only.

func signInNeeded(says string) error { return &replica.Refusal{Err: replica.ErrSignIn, Says: says} }

func slowDownFor(wait time.Duration) error {
	return &replica.Refusal{Err: replica.ErrSlowDown, RetryAfter: wait, Says: fmt.Sprintf("try again in %s", inWords(wait))}
}

// errWrongPassword says the same for an unknown login, a wrong password and access that has ended.
func errWrongPassword() error { return signInNeeded("login or password is wrong") }

// missing turns "no such row" into jobs.ErrNotFound, naming what was looked for.
func missing(err error, what string) error {
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return fmt.Errorf("%s: %w", what, jobs.ErrNotFound)
	}
	return fmt.Errorf("look for %s: %w", what, err)
}

// inWords writes a wait as people say it, rounded up.
func inWords(wait time.Duration) string {
	s := int64((wait + time.Second - 1) / time.Second)
	if s < 100 {
		return fmt.Sprintf("%d s", s)
	}
	return fmt.Sprintf("%d min", (s+59)/60)
}
