package accounts

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Device is something that records and syncs: a phone, a tablet, a laptop.
type Device struct {
	ID      string    `json:"id"`
	Company string    `json:"company"`
	Person  string    `json:"person"` // who enrolled it
	Login   string    `json:"login"`  // of that person
	Logins  []string  `json:"logins"` // of everyone who uses it
	Name    string    `json:"name"`
	State   string    `json:"state"` // active or revoked
	Key     []byte    `json:"-"`
	Made    time.Time `json:"-"`
}

// Devices lists the devices of all companies in the order in which they were enrolled.
func (a *Accounts) Devices(ctx context.Context) ([]Device, error) { return a.devices(ctx, everyone) }

// DevicesOf lists the devices of a company in the order in which they were enrolled.
func (a *Accounts) DevicesOf(ctx context.Context, co string) ([]Device, error) {
	if co == everyone {
		return nil, errNoCompany
	}
	return a.devices(ctx, co)
}

func (a *Accounts) devices(ctx context.Context, co string) ([]Device, error) {
	var rows []struct {
		Co, Device, Name, State, Person, Login string
		Key                                    []byte
		MadeMS                                 int64
	}
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		tx = tx.Table("account_device AS d")
		if co != everyone {
			tx = tx.Where("d.co = ?", co)
		}
		return tx.Select("d.co, d.device, d.key, d.name, d.state, d.made_ms, u.person, u.login").
			Joins("JOIN account_holder AS h ON h.co = d.co AND h.device = d.device").
			Joins("JOIN account_user AS u ON u.co = h.co AND u.person = h.person").
			Order("d.made_ms, d.device, h.made_ms, u.login").Scan(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("list devices: %w", err)
	}
	list := []Device{}
	for _, r := range rows {
		if n := len(list); n > 0 && list[n-1].ID == r.Device {
			list[n-1].Logins = append(list[n-1].Logins, r.Login)
			continue
		}
		list = append(list, Device{ID: r.Device, Company: r.Co, Person: r.Person, Login: r.Login, Logins: []string{r.Login}, Name: r.Name, State: r.State, Key: r.Key, Made: time.UnixMilli(r.MadeMS)})
	}
	return list, nil
}

// Revoke cuts a device off: from the next request on nothing is taken from it and nothing given to it. Saying it twice is fine.
func (a *Accounts) Revoke(ctx context.Context, device string) error {
	var r deviceRow
	err := a.read(ctx, everyone, func(tx *gorm.DB) error { return tx.Where("device = ?", device).Take(&r).Error })
	if err != nil {
		return missing(err, "device "+device)
	}
	return a.RevokeOf(ctx, r.Co, device)
}

// RevokeOf is Revoke for a device of the company co and no other's.
func (a *Accounts) RevokeOf(ctx context.Context, co, device string) error {
	var r deviceRow
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		return a.of(tx, co).Where("device = ?", device).Take(&r).Error
	})
	if err != nil {
		return missing(err, "device "+device)
	}
	if err := a.declare(ctx, co, replica.Access{What: replica.AccessDevice, ID: device}); err != nil {
		return err
	}
	err = a.write(ctx, co, func(tx *gorm.DB) error {
		if err := a.of(tx, r.Co).Model(&deviceRow{}).Where("device = ?", device).Update("state", revoked).Error; err != nil {
			return fmt.Errorf("revoke device: %w", err)
		}
		err := a.of(tx, r.Co).Model(&refreshRow{}).Where("device = ? AND ended_ms IS NULL", device).Update("ended_ms", a.ms()).Error
		if err != nil {
			return fmt.Errorf("end the sign-ins of the device: %w", err)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return a.tellDevice(ctx, r.Co, replica.Device{ID: r.Device, Key: r.Key, Name: r.Name, Revoked: a.ms()})
}

// LastSeen tells when a device last signed in or renewed its sign-in, which it does at least every quarter of an hour while it
// exchanges; zero if that is not known any more.
func (a *Accounts) LastSeen(ctx context.Context, co, device string) (time.Time, error) {
	var row struct{ At *int64 }
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		return a.of(tx, co).Table("account_refresh").Select("MAX(made_ms) AS at").Where("device = ?", device).Scan(&row).Error
	})
	if err != nil || row.At == nil {
		return time.Time{}, err
	}
	return time.UnixMilli(*row.At), nil
}

// Holders lists who is enrolled on a device.
func (a *Accounts) Holders(ctx context.Context, co, device string) ([]User, error) {
	var rows []userRow
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		return tx.Table("account_user AS u").Select("u.*").
			Joins("JOIN account_holder AS h ON h.co = u.co AND h.person = u.person").
			Where("u.co = ? AND h.device = ?", co, device).Order("h.made_ms, u.login").Scan(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("list who uses device %s: %w", device, err)
	}
	list := make([]User, len(rows))
	for i, r := range rows {
		list[i] = r.user()
	}
	return list, nil
}

// device returns a device that may be used: revoked ones answer ErrRevoked.
func (a *Accounts) device(tx *gorm.DB, co, id string) (deviceRow, error) {
	var r deviceRow
	if err := a.of(tx, co).Where("device = ?", id).Take(&r).Error; err != nil {
		return deviceRow{}, missing(err, "device "+id)
	}
	if r.State != active {
		return deviceRow{}, fmt.Errorf("device %s: %w", id, replica.ErrRevoked)
	}
	return r, nil
}

// hold notes that a person uses a device.
func (a *Accounts) hold(tx *gorm.DB, co, device, person string) error {
	err := tx.Clauses(clause.OnConflict{DoNothing: true}).
		Create(&holderRow{Co: co, Device: device, Person: person, MadeMS: a.ms()}).Error
	if err != nil {
		return fmt.Errorf("note who uses device %s: %w", device, err)
	}
	return nil
}

// present checks person and device as they are now and returns who it is.
func (a *Accounts) present(tx *gorm.DB, co, person, device string) (Who, error) {
	u, err := a.user(tx, co, person)
	if err != nil {
		return Who{}, err
	}
	if u.State != active {
		return Who{}, signInNeeded("access of " + u.Login + " has ended")
	}
	w := Who{Company: co, Person: person, Login: u.Login, Name: u.Name, Role: jobs.Role(u.Role), gen: u.Gen}
	if device == "" {
		return w, nil
	}
	d, err := a.device(tx, co, device)
	if err != nil {
		return Who{}, err
	}
	w.Device, w.Key = d.Device, ed25519.PublicKey(d.Key)
	return w, nil
}
