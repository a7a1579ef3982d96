package accounts

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/sync/replica"
)

// CodeLife is how long a one-time code is good for unless said otherwise; MaxCodeLife is the longest.
const (
	CodeLife    = 10 * time.Minute
	MaxCodeLife = 7 * 24 * time.Hour
)

// EnrolCode makes a one-time code with which the person of login enrols a device.
func (a *Accounts) EnrolCode(ctx context.Context, login string, life time.Duration) (string, error) {
	if life < time.Minute || life > MaxCodeLife {
		return "", &acoustics.InputError{Field: "valid", Value: life.String(), Range: "1 minute to 7 days"}
	}
	u, err := a.userByLogin(ctx, login)
	if err != nil {
		return "", err
	}
	if u.State != active {
		return "", fmt.Errorf("access of %s has ended: %w", u.Login, jobs.ErrRefused)
	}
	code, err := newCode(a.rand)
	if err != nil {
		return "", err
	}
	now := a.now()
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		return tx.Create(&codeRow{Hash: secretHash(readCode(code)), Co: u.Co, Person: u.Person,
			MadeMS: now.UnixMilli(), UntilMS: now.Add(life).UnixMilli()}).Error
	})
	if err != nil {
		return "", fmt.Errorf("keep code: %w", err)
	}
	return code, nil
}

// NewDevice is a device that wants to be enrolled; it chose its id and its key itself.
type NewDevice struct {
	ID    string
	Key   ed25519.PublicKey
	Name  string
	Proof Proof // by Key
}

// Enrol spends a code and makes the device one of the person's company. The same device may repeat the request while the code lives,
// because the first answer may have got lost; for anybody else the code is spent.
func (a *Accounts) Enrol(ctx context.Context, code string, d NewDevice, address string) (Grant, error) {
	if err := d.valid(a.now()); err != nil {
		return Grant{}, err
	}
	from := addressSubject(address)
	if err := a.attempt(ctx, from); err != nil {
		return Grant{}, err
	}
	hash := secretHash(readCode(code))
	var g Grant
	// Until the code has told the company, the transaction looks at the codes and at whose the device's id is.
	err := a.write(ctx, everyone, func(tx *gorm.DB) error {
		var c codeRow
		err := tx.Clauses(clause.Locking{Strength: clause.LockingStrengthUpdate}).Where("hash = ?", hash).Take(&c).Error
		if errors.Is(err, gorm.ErrRecordNotFound) {
			return badCode("not known here")
		}
		if err != nil {
			return fmt.Errorf("look for code: %w", err)
		}
		if a.ms() >= c.UntilMS {
			return badCode("too old")
		}
		again, err := a.enrolled(tx, c, d)
		if err != nil {
			return err
		}
		if c.UsedMS != nil && !again {
			return badCode("used already")
		}
		if err := a.speakFor(tx, c.Co); err != nil {
			return err
		}
		if !again {
			if err := a.admit(tx, c, d); err != nil {
				return err
			}
		}
		w, err := a.present(tx, c.Co, c.Person, d.ID)
		if err != nil {
			return err
		}
		g, err = a.grant(tx, w)
		return err
	})
	if err != nil {
		return Grant{}, err
	}
	err = a.tellDevice(ctx, g.Company, replica.Device{ID: d.ID, Key: d.Key, Name: d.Name, Person: g.Person})
	if err != nil {
		return Grant{}, err
	}
	return g, a.succeeded(ctx, from)
}

// enrolled tells whether the device is there already as this code made it, and refuses one that is there otherwise.
func (a *Accounts) enrolled(tx *gorm.DB, c codeRow, d NewDevice) (bool, error) {
	var row deviceRow
	err := tx.Where("device = ?", d.ID).Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("look for device: %w", err)
	}
	if c.UsedMS != nil && c.Device != nil && *c.Device == d.ID && row.Co == c.Co && d.Key.Equal(ed25519.PublicKey(row.Key)) {
		return true, nil
	}
	return false, &acoustics.InputError{Field: "device", Value: d.ID, Hint: "it is enrolled already; a device joins with a new id"}
}

func (a *Accounts) admit(tx *gorm.DB, c codeRow, d NewDevice) error {
	now := a.ms()
	err := tx.Create(&deviceRow{Co: c.Co, Device: d.ID, Key: d.Key, Name: d.Name, State: active, MadeMS: now}).Error
	if err != nil {
		return fmt.Errorf("enrol device: %w", err)
	}
	if err := a.hold(tx, c.Co, d.ID, c.Person); err != nil {
		return err
	}
	err = tx.Model(&codeRow{}).Where("hash = ?", c.Hash).Updates(map[string]any{"used_ms": now, "device": d.ID}).Error
	if err != nil {
		return fmt.Errorf("spend code: %w", err)
	}
	return nil
}

func (d *NewDevice) valid(now time.Time) error {
	id, err := uuid.Parse(d.ID)
	if err != nil || id.String() != d.ID {
		return &acoustics.InputError{Field: "device", Value: fmt.Sprintf("%.40q", d.ID), Range: "a UUID in lower case"}
	}
	if len(d.Key) != ed25519.PublicKeySize {
		return &acoustics.InputError{Field: "key", Value: fmt.Sprintf("%d bytes", len(d.Key)), Range: "32 bytes of an Ed25519 public key"}
	}
	if d.Name == "" {
		d.Name = "device"
	}
	if d.Name, err = label("name", d.Name); err != nil {
		return err
	}
	return d.Proof.check(d.Key, now)
}

func badCode(says string) error {
	return &acoustics.InputError{Field: "code", Value: says, Hint: "ask for a new one"}
}
