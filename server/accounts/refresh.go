package accounts

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
)

// How long a sign-in on a device lasts. Sites can be without a network for weeks, and a sign-in that has ended stops nobody from
// recording: only the next sync asks for the password.
const (
	RefreshIdle  = 30 * 24 * time.Hour // unused
	RefreshLife  = 90 * 24 * time.Hour // whatever happens
	RefreshRetry = 60 * time.Second    // for an answer that got lost
)

// Grant is what a device gets when someone enrols or signs in on it, or its sign-in goes on.
type Grant struct {
	Who
	Access  string
	Until   time.Time // of Access
	Refresh string
}

// grant opens a new family of refresh tokens.
func (a *Accounts) grant(tx *gorm.DB, w Who) (Grant, error) {
	secret, err := a.secret()
	if err != nil {
		return Grant{}, err
	}
	family, err := newID()
	if err != nil {
		return Grant{}, err
	}
	now := a.now()
	row := refreshRow{Co: w.Company, Family: family, Device: w.Device, Person: w.Person, LastMS: now.Add(RefreshLife).UnixMilli()}
	return a.grantWith(tx, w, w.Company+"."+secret, row)
}

func (a *Accounts) grantWith(tx *gorm.DB, w Who, refresh string, row refreshRow) (Grant, error) {
	now := a.now()
	row.Hash, row.MadeMS = secretHash(refresh), now.UnixMilli()
	row.UntilMS = min(now.Add(RefreshIdle).UnixMilli(), row.LastMS)
	row.UsedMS, row.EndedMS = nil, nil
	if err := tx.Create(&row).Error; err != nil {
		return Grant{}, fmt.Errorf("keep refresh token: %w", err)
	}
	return a.signed(w, refresh)
}

func (a *Accounts) signed(w Who, refresh string) (Grant, error) {
	access, until, err := a.access(w)
	return Grant{Who: w, Access: access, Until: until, Refresh: refresh}, err
}

// successor is the token that follows token. It is derived, with a key that is not in the database, so that a device whose answer got
// lost can be given the same one again although only its hash is stored.
func (a *Accounts) successor(co, token string) string {
	m := hmac.New(sha256.New, a.Keys().refresh)
	m.Write([]byte(token))
	return co + "." + base64.RawURLEncoding.EncodeToString(m.Sum(nil))
}

// Refresh exchanges a refresh token for an access token and the token's successor. Each token is used once; one that comes back later
// than RefreshRetry, or without the device's signature, means that two hold it, and ends the whole family: whoever is honest signs in
// again. The signature binds tokens to the device, so a copy of its database alone is worth nothing.
func (a *Accounts) Refresh(ctx context.Context, token string, proof Proof) (Grant, error) {
	co, _, ok := strings.Cut(token, ".")
	if !ok || co == "" || co == everyone || len(token) > 200 {
		return Grant{}, signInNeeded("not a refresh token")
	}
	var g Grant
	var refused error
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		var row refreshRow
		locked := tx.Clauses(clause.Locking{Strength: clause.LockingStrengthUpdate})
		if err := a.of(locked, co).Where("hash = ?", secretHash(token)).Take(&row).Error; err != nil {
			return missing(err, "refresh token")
		}
		w, err := a.present(tx, co, row.Person, row.Device)
		if err != nil {
			return err
		}
		now := a.ms()
		if row.EndedMS != nil || now >= row.UntilMS {
			return signInNeeded("this sign-in has ended")
		}
		proven := proof.check(w.Key, a.now()) == nil
		if row.UsedMS != nil {
			if proven && now-*row.UsedMS <= RefreshRetry.Milliseconds() {
				g, err = a.signed(w, a.successor(co, token))
				return err
			}
			refused = signInNeeded("this token was used before")
			return a.of(tx, co).Model(&refreshRow{}).Where("family = ? AND ended_ms IS NULL", row.Family).Update("ended_ms", now).Error
		}
		if !proven {
			return signInNeeded("the device did not sign for its token")
		}
		if err := a.of(tx, co).Model(&refreshRow{}).Where("hash = ?", row.Hash).Update("used_ms", now).Error; err != nil {
			return fmt.Errorf("use refresh token: %w", err)
		}
		g, err = a.grantWith(tx, w, a.successor(co, token), row)
		return err
	})
	if errors.Is(err, jobs.ErrNotFound) {
		err = signInNeeded("not a token of this server")
	}
	return g, errors.Join(err, refused)
}
