package accounts

import (
	"context"
	"fmt"
	"net/netip"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// A slow-down lets a number of failures pass and then makes each wait twice as long as the one before, up to the longest. A right
// password after the wait always works: nobody can lock another out, and while one waits nothing is counted.
type slowDown struct {
	free    int
	first   time.Duration
	longest time.Duration
}

var (
	// Five slips cost nothing; after that, at most about 90 guesses a day.
	byAccount = slowDown{free: 5, first: 2 * time.Second, longest: 20 * time.Minute}
	// Everyone on a building site may share one address, so it takes more before the address waits.
	byAddress = slowDown{free: 50, first: time.Second, longest: 5 * time.Minute}
)

// forgetAfter is how long after the last failure a slow-down is forgotten.
const forgetAfter = 24 * time.Hour

// wait is how long after failure number n the next attempt must wait.
func (s slowDown) wait(n int) time.Duration {
	if n < s.free {
		return 0
	}
	d := s.first
	for range n - s.free {
		if d *= 2; d >= s.longest {
			return s.longest
		}
	}
	return d
}

type subject struct {
	key string
	slowDown
}

// accountSubject is an account as attempts on it are counted: on an enrolled device apart from everywhere else, so that guesses made
// in some browser cannot keep a person out on their own device.
func accountSubject(login, device string) subject {
	return subject{"login " + device + " " + fmt.Sprintf("%x", secretHash(login)), byAccount}
}

// addressSubject is the address that a request came from; of IPv6 the first 64 bits, which one customer has as a whole.
func addressSubject(address string) subject {
	ip, err := netip.ParseAddr(address)
	if err != nil {
		return subject{"address unknown", byAddress}
	}
	ip = ip.Unmap().WithZone("")
	if ip.Is6() {
		if p, err := ip.Prefix(64); err == nil {
			return subject{"address " + p.String(), byAddress}
		}
	}
	return subject{"address " + ip.String(), byAddress}
}

// attempt counts a failure for each subject before anything is tried, so that many attempts at once can't pass together; succeeded
// takes it back. Where one must still wait nothing is counted and the refusal says how long.
func (a *Accounts) attempt(ctx context.Context, subjects ...subject) error {
	slices.SortFunc(subjects, func(x, y subject) int { return strings.Compare(x.key, y.key) }) // one order of locks
	now := a.ms()
	return a.write(ctx, everyone, func(tx *gorm.DB) error {
		for _, s := range subjects {
			row, err := lockAttempt(tx, s.key)
			if err != nil {
				return fmt.Errorf("count sign-ins: %w", err)
			}
			if now-row.LastMS > forgetAfter.Milliseconds() {
				row.Failures, row.NextMS = 0, 0
			}
			if row.NextMS > now {
				return slowDownFor(time.Duration(row.NextMS-now) * time.Millisecond)
			}
			n := row.Failures + 1
			if err := saveAttempt(tx, s.key, n, now, now+s.wait(n).Milliseconds()); err != nil {
				return fmt.Errorf("count sign-ins: %w", err)
			}
		}
		return nil
	})
}

// succeeded takes back what attempt counted. An account is then clean again; an address only has this one attempt taken off, so that one
// right password of their own does not give anyone fresh guesses.
func (a *Accounts) succeeded(ctx context.Context, subjects ...subject) error {
	slices.SortFunc(subjects, func(x, y subject) int { return strings.Compare(x.key, y.key) })
	now := a.ms()
	err := a.write(ctx, everyone, func(tx *gorm.DB) error {
		for _, s := range subjects {
			row, err := lockAttempt(tx, s.key)
			if err != nil {
				return err
			}
			n := 0
			if s.slowDown == byAddress {
				n = max(row.Failures-1, 0)
			}
			if err := saveAttempt(tx, s.key, n, now, now+s.wait(n).Milliseconds()); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("count sign-ins: %w", err)
	}
	return nil
}

func lockAttempt(tx *gorm.DB, key string) (attemptRow, error) {
	fresh := attemptRow{Subject: key}
	if err := tx.Clauses(clause.OnConflict{DoNothing: true}).Create(&fresh).Error; err != nil {
		return attemptRow{}, err
	}
	var row attemptRow
	err := tx.Clauses(clause.Locking{Strength: clause.LockingStrengthUpdate}).Where("subject = ?", key).Take(&row).Error
	return row, err
}

func saveAttempt(tx *gorm.DB, key string, failures int, last, next int64) error {
	return tx.Model(&attemptRow{}).Where("subject = ?", key).
		Updates(map[string]any{"failures": failures, "last_ms": last, "next_ms": next}).Error
}
