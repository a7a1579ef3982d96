package accounts

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Tidy forgets what can no longer matter: tokens, codes and browsers that have ended, and attempts of days ago. A used refresh token is
// kept for as long as it could come back and tell that it was stolen.
func (a *Accounts) Tidy(ctx context.Context) error {
	now := a.now()
	day := now.Add(-forgetAfter).UnixMilli()
	for _, old := range []struct {
		row   any
		where string
		than  int64
	}{
		{&attemptRow{}, "last_ms < ?", day},
		{&codeRow{}, "until_ms < ?", day},
		{&browserRow{}, "until_ms < ?", now.UnixMilli()},
		{&refreshRow{}, "until_ms < ?", now.UnixMilli()},
		{&setupRow{}, "until_ms < ?", now.UnixMilli()},
		{&guestRow{}, "until_ms < ?", now.Add(-keepGuests).UnixMilli()},
		{&noticeOutRow{}, "done_ms < ?", now.Add(-keepNotices).UnixMilli()},
		{&noticeToldRow{}, "made_ms < ?", now.Add(-keepTold).UnixMilli()},
	} {
		// One of the few that look over all companies, because time is the same for all.
		err := a.write(ctx, everyone, func(tx *gorm.DB) error { return tx.Where(old.where, old.than).Delete(old.row).Error })
		if err != nil {
			return fmt.Errorf("tidy up: %w", err)
		}
	}
	return nil
}

// TidyEvery is how often a server tidies up.
const TidyEvery = time.Hour
