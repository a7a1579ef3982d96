package accounts

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/acoustics"
	"tacet/jobs"
)

// A tablet that a whole crew shares is handed on many times a day, with gloves. Each of its people has a PIN on it. A PIN is short, so it
// is worth something only together with the device's own key, on that one device, and [PinTries] times wrongly at most; then the person
// signs in with the password again.
const (
	MinPin   = 6
	MaxPin   = 12
	PinTries = 10
)

// SetPin gives the person who signed in on a device a PIN there.
func (a *Accounts) SetPin(ctx context.Context, w Who, pin string) error {
	if w.Device == "" {
		return &jobs.RuleError{Says: "a PIN belongs to a device; set it there"}
	}
	digits := strings.Trim(pin, "0123456789") == ""
	if !digits || len(pin) < MinPin || len(pin) > MaxPin {
		return &acoustics.InputError{Field: "pin", Value: fmt.Sprintf("%d characters long", len(pin)), Range: fmt.Sprintf("%d to %d", MinPin, MaxPin), Unit: "digits"}
	}
	if repeats(pin) || runsOnly(pin) || distinct(pin) < 3 {
		return &acoustics.InputError{Field: "pin", Value: "one that is guessed early", Hint: "no run and no repetition"}
	}
	hash, err := a.hash(ctx, pin)
	if err != nil {
		return fmt.Errorf("hash pin: %w", err)
	}
	row := pinRow{Co: w.Company, Device: w.Device, Person: w.Person, Hash: hash, MadeMS: a.ms()}
	err = a.write(ctx, w.Company, func(tx *gorm.DB) error {
		return tx.Clauses(clause.OnConflict{Columns: []clause.Column{{Name: "co"}, {Name: "device"}, {Name: "person"}},
			DoUpdates: clause.AssignmentColumns([]string{"hash", "failures", "made_ms"})}).Create(&row).Error
	})
	if err != nil {
		return fmt.Errorf("keep pin: %w", err)
	}
	return nil
}

// SignInPin signs a person in on a device where they have a PIN, with the device's signature beside it.
func (a *Accounts) SignInPin(ctx context.Context, login, pin, device string, proof Proof, address string) (Grant, error) {
	d, err := a.provenDevice(ctx, device, proof)
	if err != nil {
		return Grant{}, err
	}
	from := addressSubject(address)
	if err := a.attempt(ctx, from); err != nil {
		return Grant{}, err
	}
	u, err := a.userByLogin(ctx, login)
	var bad *jobs.InputError
	if err != nil && !errors.Is(err, jobs.ErrNotFound) && !errors.As(err, &bad) {
		return Grant{}, err
	}
	hash, err := a.countPin(ctx, d, u)
	if err != nil {
		return Grant{}, err
	}
	ok, err := a.matches(ctx, pin, hash)
	if err != nil {
		return Grant{}, fmt.Errorf("compare pin: %w", err)
	}
	if !ok || u.State != active {
		return Grant{}, signInNeeded("login or PIN is wrong; the password always works")
	}
	var g Grant
	err = a.write(ctx, d.Co, func(tx *gorm.DB) error {
		if err := a.of(tx, d.Co).Model(&pinRow{}).Where("device = ? AND person = ?", d.Device, u.Person).Update("failures", 0).Error; err != nil {
			return err
		}
		w, err := a.present(tx, d.Co, u.Person, d.Device)
		if err != nil {
			return err
		}
		g, err = a.grant(tx, w)
		return err
	})
	if err != nil {
		return Grant{}, err
	}
	return g, a.succeeded(ctx, from)
}

// countPin counts a try before it is made and returns the hash to compare with: empty, which never matches, where there is no PIN or no
// try is left.
func (a *Accounts) countPin(ctx context.Context, d deviceRow, u userRow) (hash string, err error) {
	if u.Co != d.Co {
		return "", nil
	}
	err = a.write(ctx, d.Co, func(tx *gorm.DB) error {
		var row pinRow
		locked := tx.Clauses(clause.Locking{Strength: clause.LockingStrengthUpdate})
		err := a.of(locked, d.Co).Where("device = ? AND person = ?", d.Device, u.Person).Take(&row).Error
		if errors.Is(err, gorm.ErrRecordNotFound) || err == nil && row.Failures >= PinTries {
			return nil
		}
		if err != nil {
			return fmt.Errorf("look for pin: %w", err)
		}
		hash = row.Hash
		return a.of(tx, d.Co).Model(&pinRow{}).Where("device = ? AND person = ?", d.Device, u.Person).Update("failures", row.Failures+1).Error
	})
	return hash, err
}
