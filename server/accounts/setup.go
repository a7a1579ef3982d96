package accounts

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"

	"tacet/acoustics"
	"tacet/jobs"
)

// SetUpLife is how long the code that sets up a fresh server is good for.
const SetUpLife = 24 * time.Hour

// errSetUp says that there is nothing to set up any more.
func errSetUp() error { return fmt.Errorf("this server has a company already: %w", jobs.ErrRefused) }

// SetUpCode makes a one-time code with which a server that has no company gets its first one and the owner of it. There is no default
// account: who can read the server's output or run its commands is who may begin. It is jobs.ErrRefused once there is a company.
func (a *Accounts) SetUpCode(ctx context.Context) (string, error) {
	fresh, err := a.Fresh(ctx)
	if err != nil {
		return "", err
	}
	if !fresh {
		return "", errSetUp()
	}
	code, err := newCode(a.rand)
	if err != nil {
		return "", err
	}
	err = a.write(ctx, everyone, func(tx *gorm.DB) error {
		return tx.Create(&setupRow{Hash: secretHash(readCode(code)), UntilMS: a.now().Add(SetUpLife).UnixMilli()}).Error
	})
	if err != nil {
		return "", fmt.Errorf("keep code: %w", err)
	}
	return code, nil
}

// Fresh tells whether the server has no company yet.
func (a *Accounts) Fresh(ctx context.Context) (bool, error) {
	var n int64
	err := a.read(ctx, everyone, func(tx *gorm.DB) error { return tx.Model(&companyRow{}).Count(&n).Error })
	if err != nil {
		return false, fmt.Errorf("count companies: %w", err)
	}
	return n == 0, nil
}

// SetUp spends a set-up code: it makes the first company and its owner. All codes are then worth nothing.
func (a *Accounts) SetUp(ctx context.Context, code, company string, owner User, password, address string) (Company, error) {
	from := addressSubject(address)
	if err := a.attempt(ctx, from); err != nil {
		return Company{}, err
	}
	company, err := label("company", company)
	if err != nil {
		return Company{}, err
	}
	owner.Role = jobs.Owner
	if err := a.checkUser(&owner, password); err != nil {
		return Company{}, err
	}
	err = a.write(ctx, everyone, func(tx *gorm.DB) error {
		// Deleting is what spends it: of two that come at once, one finds it gone.
		spent := tx.Where("hash = ? AND until_ms > ?", secretHash(readCode(code)), a.ms()).Delete(&setupRow{})
		if spent.Error != nil {
			return fmt.Errorf("look for code: %w", spent.Error)
		}
		var n int64
		if err := tx.Model(&companyRow{}).Count(&n).Error; err != nil {
			return fmt.Errorf("count companies: %w", err)
		}
		switch {
		case n > 0:
			return errSetUp()
		case spent.RowsAffected != 1:
			return &acoustics.InputError{Field: "code", Value: "not known here", Hint: "server setup-code prints a new one"}
		}
		return nil
	})
	if err != nil {
		return Company{}, err
	}
	co, err := a.AddCompany(ctx, company)
	if err != nil {
		return Company{}, err
	}
	owner.Company = co.ID
	if _, err := a.AddUser(ctx, owner, password); err != nil {
		return Company{}, err
	}
	return co, a.succeeded(ctx, from)
}
