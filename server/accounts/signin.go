package accounts

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/sync/replica"
)

// SignIn signs a person in on an enrolled device of their company, with the device's signature beside the password: two factors.
func (a *Accounts) SignIn(ctx context.Context, login, password, device string, proof Proof, address string) (Grant, error) {
	// A device that cannot sign is counted as no device, so that nobody gets fresh attempts by inventing device ids.
	d, err := a.provenDevice(ctx, device, proof)
	if err != nil {
		return Grant{}, err
	}
	u, err := a.checkPassword(ctx, login, password, d.Device, address)
	if err != nil {
		return Grant{}, err
	}
	if u.Co != d.Co {
		return Grant{}, errWrongPassword()
	}
	var g Grant
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		w, err := a.present(tx, u.Co, u.Person, d.Device)
		if err != nil {
			return err
		}
		if err := a.hold(tx, u.Co, d.Device, u.Person); err != nil {
			return err
		}
		g, err = a.grant(tx, w)
		return err
	})
	return g, err
}

func (a *Accounts) provenDevice(ctx context.Context, id string, proof Proof) (deviceRow, error) {
	var d deviceRow
	err := a.read(ctx, everyone, func(tx *gorm.DB) error { return tx.Where("device = ?", id).Take(&d).Error })
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return deviceRow{}, signInNeeded("this device is not enrolled here")
	}
	if err != nil {
		return deviceRow{}, fmt.Errorf("look for device: %w", err)
	}
	if err := proof.check(d.Key, a.now()); err != nil {
		return deviceRow{}, err
	}
	if d.State != active {
		return deviceRow{}, fmt.Errorf("device %s: %w", id, replica.ErrRevoked)
	}
	return d, nil
}

// checkPassword is the one place where a password is compared, behind the slow-downs of account and address.
func (a *Accounts) checkPassword(ctx context.Context, login, password, device, address string) (userRow, error) {
	name, err := readLogin(login)
	if err != nil {
		name = login // counted and refused like any other that nobody has
	}
	account, from := accountSubject(name, device), addressSubject(address)
	if err := a.attempt(ctx, account, from); err != nil {
		return userRow{}, err
	}
	u, err := a.userByLogin(ctx, name)
	var bad *jobs.InputError
	if err != nil && !errors.Is(err, jobs.ErrNotFound) && !errors.As(err, &bad) {
		return userRow{}, err
	}
	ok, err := a.matches(ctx, password, u.Password)
	if err != nil {
		return userRow{}, fmt.Errorf("compare password: %w", err)
	}
	if !ok || u.State != active {
		return userRow{}, errWrongPassword()
	}
	return u, a.succeeded(ctx, account, from)
}
