package accounts

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"

	"tacet/jobs"
)

// How long a browser stays signed in: a working day unused, a week whatever happens.
const (
	BrowserIdle = 12 * time.Hour
	BrowserLife = 7 * 24 * time.Hour

	// browserTouch is how often use is written down.
	browserTouch = 5 * time.Minute
)

// SignInBrowser checks login and password and returns the secret that the browser's cookie holds.
func (a *Accounts) SignInBrowser(ctx context.Context, login, password, address string) (string, Who, error) {
	u, err := a.checkPassword(ctx, login, password, "", address)
	if err != nil {
		return "", Who{}, err
	}
	secret, err := a.secret()
	if err != nil {
		return "", Who{}, err
	}
	cookie := u.Co + "." + secret
	now := a.now()
	row := browserRow{Co: u.Co, Hash: secretHash(cookie), Person: u.Person, MadeMS: now.UnixMilli(),
		UntilMS: now.Add(BrowserIdle).UnixMilli(), LastMS: now.Add(BrowserLife).UnixMilli()}
	err = a.write(ctx, func(tx *gorm.DB) error {
		return tx.Create(&row).Error
	})
	if err != nil {
		return "", Who{}, fmt.Errorf("sign in: %w", err)
	}
	return cookie, Who{Company: u.Co, Person: u.Person, Login: u.Login, Name: u.Name, Role: jobs.Role(u.Role)}, nil
}

// Browser tells who a cookie speaks for, as the database has them now.
func (a *Accounts) Browser(ctx context.Context, cookie string) (Who, error) {
	co, _, ok := strings.Cut(cookie, ".")
	if !ok || co == "" || len(cookie) > 200 {
		return Who{}, signInNeeded("not signed in")
	}
	tx := a.db.WithContext(ctx)
	var row browserRow
	if err := a.of(tx, co).Where("hash = ?", secretHash(cookie)).Take(&row).Error; err != nil {
		if errors.Is(err, gorm.ErrRecordNotFound) {
			return Who{}, signInNeeded("not signed in")
		}
		return Who{}, fmt.Errorf("look for browser: %w", err)
	}
	now := a.now()
	if now.UnixMilli() >= row.UntilMS {
		return Who{}, signInNeeded("not used for too long")
	}
	w, err := a.present(tx, co, row.Person, "")
	if err != nil {
		return Who{}, err
	}
	if until := min(now.Add(BrowserIdle).UnixMilli(), row.LastMS); until-row.UntilMS > browserTouch.Milliseconds() {
		err := a.of(tx, co).Model(&browserRow{}).Where("hash = ?", row.Hash).Update("until_ms", until).Error
		if err != nil {
			return Who{}, fmt.Errorf("note use of browser: %w", err)
		}
	}
	return w, nil
}

// SignOutBrowser ends what a cookie stands for.
func (a *Accounts) SignOutBrowser(ctx context.Context, cookie string) error {
	co, _, ok := strings.Cut(cookie, ".")
	if !ok || co == "" {
		return nil
	}
	if err := a.of(a.db.WithContext(ctx), co).Where("hash = ?", secretHash(cookie)).Delete(&browserRow{}).Error; err != nil {
		return fmt.Errorf("sign out: %w", err)
	}
	return nil
}
