package accounts

import (
	"bytes"
	"context"
	"encoding/hex"
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

// SignInBrowser checks login and password, and the code of an authenticator where the person has one, and returns the secret that the
// browser's cookie holds.
func (a *Accounts) SignInBrowser(ctx context.Context, login, password, code, address string) (string, Who, error) {
	u, err := a.checkPassword(ctx, login, password, "", address)
	if err != nil {
		return "", Who{}, err
	}
	factor, err := a.checkFactor(ctx, u, code, address)
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
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		return tx.Create(&row).Error
	})
	if err != nil {
		return "", Who{}, fmt.Errorf("sign in: %w", err)
	}
	return cookie, Who{Company: u.Co, Person: u.Person, Login: u.Login, Name: u.Name, Role: jobs.Role(u.Role), Factor: factor}, nil
}

// Browser tells who a cookie speaks for, as the database has them now.
func (a *Accounts) Browser(ctx context.Context, cookie string) (Who, error) {
	co, _, ok := strings.Cut(cookie, ".")
	if !ok || co == "" || co == everyone || len(cookie) > 200 {
		return Who{}, signInNeeded("not signed in")
	}
	var w Who
	err := a.read(ctx, co, func(tx *gorm.DB) (err error) {
		w, err = a.browser(tx, co, cookie)
		return err
	})
	return w, err
}

func (a *Accounts) browser(tx *gorm.DB, co, cookie string) (Who, error) {
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
	if w.Factor, err = a.hasFactor(tx, co, row.Person); err != nil {
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
	if !ok || co == "" || co == everyone {
		return nil
	}
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		return a.of(tx, co).Where("hash = ?", secretHash(cookie)).Delete(&browserRow{}).Error
	})
	if err != nil {
		return fmt.Errorf("sign out: %w", err)
	}
	return nil
}

// Session is one browser that a person has signed in with.
type Session struct {
	ID    string // tells it from the person's others; opens nothing
	Since time.Time
	Until time.Time // unless it is used before
	Here  bool      // the one that asks
}

// Sessions lists the browsers in which a person is signed in, the latest first; cookie is that of the one that asks.
func (a *Accounts) Sessions(ctx context.Context, w Who, cookie string) ([]Session, error) {
	var rows []browserRow
	err := a.read(ctx, w.Company, func(tx *gorm.DB) error {
		return a.of(tx, w.Company).Where("person = ? AND until_ms > ?", w.Person, a.ms()).Order("made_ms DESC, hash").Find(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("list browsers: %w", err)
	}
	list := make([]Session, len(rows))
	for i, r := range rows {
		list[i] = Session{ID: sessionID(r.Hash), Since: time.UnixMilli(r.MadeMS), Until: time.UnixMilli(r.UntilMS), Here: bytes.Equal(r.Hash, secretHash(cookie))}
	}
	return list, nil
}

// EndSessions ends browsers of a person: the one of that id, or all but the one that asks where id is empty.
func (a *Accounts) EndSessions(ctx context.Context, w Who, cookie, id string) error {
	return a.write(ctx, w.Company, func(tx *gorm.DB) error {
		var rows []browserRow
		if err := a.of(tx, w.Company).Where("person = ?", w.Person).Find(&rows).Error; err != nil {
			return fmt.Errorf("list browsers: %w", err)
		}
		for _, r := range rows {
			if id == "" && bytes.Equal(r.Hash, secretHash(cookie)) || id != "" && sessionID(r.Hash) != id {
				continue
			}
			if err := a.of(tx, w.Company).Where("hash = ?", r.Hash).Delete(&browserRow{}).Error; err != nil {
				return fmt.Errorf("end browser: %w", err)
			}
		}
		return nil
	})
}

// sessionID is enough of the hash to tell browsers apart; the cookie can't be found from it.
func sessionID(hash []byte) string { return hex.EncodeToString(hash[:8]) }
