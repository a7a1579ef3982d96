package accounts

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"
	"time"

	"gorm.io/gorm"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/sync/replica"
)

// successorsADay is how often a device may be gone on for. One that is restored every few hours is looked at by a person.
const successorsADay = 5

// Succeed makes a new device id go on for a device that was restored from a backup, or whose disk was copied: whoever holds
// the old key says so by it. The people of the old device are those of the new one, and login, one of them, is signed in. The
// old device stays as it is, because it may be the copy that goes on being used; the owner sees both. The same request may
// be repeated, because the first answer may have got lost.
func (a *Accounts) Succeed(ctx context.Context, old string, proof Proof, login string, d NewDevice) (Grant, error) {
	if err := d.valid(a.now()); err != nil {
		return Grant{}, err
	}
	was, err := a.provenDevice(ctx, old, proof)
	if err != nil {
		return Grant{}, err
	}
	u, err := a.userByLogin(ctx, login)
	if errors.Is(err, jobs.ErrNotFound) || err == nil && u.Co != was.Co {
		return Grant{}, signInNeeded("nobody of that login uses this device")
	}
	if err != nil {
		return Grant{}, err
	}
	if err := a.mayGoOn(ctx, was.Co, old, d.ID); err != nil {
		return Grant{}, err
	}
	if d.Name == "device" {
		d.Name = was.Name
	}
	var g Grant
	err = a.write(ctx, was.Co, func(tx *gorm.DB) error {
		if err := a.goOn(tx, was, d); err != nil {
			return err
		}
		var holds int64
		if err := a.of(tx, was.Co).Model(&holderRow{}).Where("device = ? AND person = ?", d.ID, u.Person).Count(&holds).Error; err != nil {
			return fmt.Errorf("look who uses device %s: %w", d.ID, err)
		}
		if holds == 0 {
			return signInNeeded("nobody of that login uses this device")
		}
		w, err := a.present(tx, was.Co, u.Person, d.ID)
		if err != nil {
			return err
		}
		g, err = a.grant(tx, w)
		return err
	})
	if err != nil {
		return Grant{}, err
	}
	return g, a.tellDevice(ctx, was.Co, replica.Device{ID: d.ID, Key: d.Key, Name: d.Name, Person: g.Person, Was: old})
}

// goOn makes the new device with the people of the old one, unless it is there already with the same key.
func (a *Accounts) goOn(tx *gorm.DB, was deviceRow, d NewDevice) error {
	var there deviceRow
	err := a.of(tx, was.Co).Where("device = ?", d.ID).Take(&there).Error
	if err == nil {
		if d.Key.Equal(ed25519.PublicKey(there.Key)) {
			return nil
		}
		return &acoustics.InputError{Field: "next", Value: d.ID, Hint: "it is enrolled already; go on with a new id"}
	}
	if !errors.Is(err, gorm.ErrRecordNotFound) {
		return fmt.Errorf("look for device: %w", err)
	}
	if err := tx.Create(&deviceRow{Co: was.Co, Device: d.ID, Key: d.Key, Name: d.Name, State: active, MadeMS: a.ms()}).Error; err != nil {
		return fmt.Errorf("enrol the device that goes on: %w", err)
	}
	var holders []holderRow
	if err := a.of(tx, was.Co).Where("device = ?", was.Device).Find(&holders).Error; err != nil {
		return fmt.Errorf("list who uses device %s: %w", was.Device, err)
	}
	for _, h := range holders {
		if err := a.hold(tx, was.Co, d.ID, h.Person); err != nil {
			return err
		}
	}
	return nil
}

// mayGoOn refuses a device that is gone on for too often.
func (a *Accounts) mayGoOn(ctx context.Context, co, old, next string) error {
	var ds []replica.Device
	err := a.record.Read(ctx, co, func(tx replica.Tx) (err error) {
		ds, err = tx.Devices()
		return err
	})
	if err != nil {
		return fmt.Errorf("list devices: %w", err)
	}
	since := a.now().Add(-24 * time.Hour).UnixMilli()
	today := slices.DeleteFunc(ds, func(d replica.Device) bool { return d.Was != old || d.ID == next || d.Enrolled < since })
	if len(today) >= successorsADay {
		return &replica.Refusal{Err: replica.ErrSlowDown, Says: "this device was restored or copied too often today; the office has to look at it", RetryAfter: time.Hour}
	}
	return nil
}
