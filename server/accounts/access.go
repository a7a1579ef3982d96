package accounts

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/sync/replica"
)

// What the server says about access is signed and kept three times: in the record, with every device, and in a file beside the database.
// A server that was restored from an old backup so learns again whom it had shut out, from the file when it starts, or from the first
// device that comes back.

// Ledger keeps what was said about access outside the database. It is durable when Append returns.
type Ledger interface {
	Append(replica.Access) error
}

// declare says something about access: it is in the ledger before anything follows from it.
func (a *Accounts) declare(ctx context.Context, co string, say replica.Access) error {
	say.Co = co
	err := a.record.Write(ctx, co, func(tx replica.Tx) error {
		known, err := tx.Access()
		if err != nil {
			return err
		}
		say.At = a.ms()
		for _, k := range known {
			if k.What == say.What && k.ID == say.ID && k.Job == say.Job {
				if k.May == say.May {
					return nil
				}
				say.At = max(say.At, k.At+1)
			}
		}
		if err := say.Sign(a.Keys().Record); err != nil {
			return err
		}
		if err := a.toLedger(say); err != nil {
			return err
		}
		return tx.PutAccess([]replica.Access{say})
	})
	if err != nil {
		return fmt.Errorf("say what access there is: %w", err)
	}
	return nil
}

func (a *Accounts) toLedger(list ...replica.Access) error {
	if a.ledger == nil {
		return nil
	}
	for _, say := range list {
		if err := a.ledger.Append(say); err != nil {
			return fmt.Errorf("note in the ledger of access: %w", err)
		}
	}
	return nil
}

// Returned does what a device brought back, as far as the record has taken it over, and notes it in the ledger.
func (a *Accounts) Returned(ctx context.Context, co string, list []replica.Access) error {
	if err := a.toLedger(list...); err != nil {
		return err
	}
	return a.Follow(ctx, co, list)
}

// Follow does to devices and people what was said about their access. Doing it twice is fine.
func (a *Accounts) Follow(ctx context.Context, co string, list []replica.Access) error {
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		for _, say := range list {
			if err := a.follow(tx, co, say); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("follow what was said about access: %w", err)
	}
	return nil
}

func (a *Accounts) follow(tx *gorm.DB, co string, say replica.Access) error {
	refresh := func(column string) error {
		return a.of(tx, co).Model(&refreshRow{}).Where(column+" = ? AND ended_ms IS NULL", say.ID).Update("ended_ms", a.ms()).Error
	}
	switch {
	case say.What == replica.AccessDevice && !say.May:
		if err := a.of(tx, co).Model(&deviceRow{}).Where("device = ?", say.ID).Update("state", revoked).Error; err != nil {
			return err
		}
		return refresh("device")
	case say.What == replica.AccessPerson && !say.May:
		if err := a.of(tx, co).Model(&userRow{}).Where("person = ?", say.ID).Update("state", ended).Error; err != nil {
			return err
		}
		if err := a.of(tx, co).Where("person = ?", say.ID).Delete(&browserRow{}).Error; err != nil {
			return err
		}
		return refresh("person")
	case say.What == replica.AccessPerson:
		return a.of(tx, co).Model(&userRow{}).Where("person = ?", say.ID).Update("state", active).Error
	}
	return nil
}

// followAll does what the record knows was said, and says what was done before anything was said.
func (a *Accounts) followAll(ctx context.Context, co string) error {
	var said []replica.Access
	err := a.record.Read(ctx, co, func(tx replica.Tx) (err error) {
		said, err = tx.Access()
		return err
	})
	if err != nil {
		return err
	}
	if err := a.Follow(ctx, co, said); err != nil {
		return err
	}
	has := func(what, id string) bool {
		return slices.ContainsFunc(said, func(s replica.Access) bool { return s.What == what && s.ID == id })
	}
	devices, err := a.DevicesOf(ctx, co)
	if err != nil {
		return err
	}
	for _, d := range devices {
		if d.State == revoked && !has(replica.AccessDevice, d.ID) {
			if err := a.declare(ctx, co, replica.Access{What: replica.AccessDevice, ID: d.ID}); err != nil {
				return err
			}
		}
	}
	users, err := a.Users(ctx, co)
	if err != nil {
		return err
	}
	for _, u := range users {
		if u.Ended && !has(replica.AccessPerson, u.Person) {
			if err := a.declare(ctx, co, replica.Access{What: replica.AccessPerson, ID: u.Person}); err != nil {
				return err
			}
		}
	}
	return nil
}

// See says whether a person sees the jobs that nothing else is said of: all that are there and will be, or only those given.
func (a *Accounts) See(ctx context.Context, co, person string, all bool) error {
	if err := a.narrows(ctx, co, person); err != nil {
		return err
	}
	return a.declare(ctx, co, replica.Access{What: replica.AccessJobs, ID: person, May: all})
}

// Give gives one job to a person, or takes it away. What is on their devices stays there, marked as no longer updated.
func (a *Accounts) Give(ctx context.Context, co, person, job string, may bool) error {
	if err := a.narrows(ctx, co, person); err != nil {
		return err
	}
	err := a.record.Read(ctx, co, func(tx replica.Tx) error {
		_, err := tx.First(job)
		return err
	})
	if errors.Is(err, jobs.ErrNotFound) {
		return fmt.Errorf("job %s: %w", job, replica.ErrNoJob)
	}
	if err != nil {
		return err
	}
	return a.declare(ctx, co, replica.Access{What: replica.AccessJob, ID: person, Job: job, May: may})
}

// narrows makes sure that the person's sight can be narrowed: office and owner give access, so they see everything.
func (a *Accounts) narrows(ctx context.Context, co, person string) error {
	u, err := a.User(ctx, co, person)
	if err != nil {
		return err
	}
	if u.Role == jobs.Office || u.Role == jobs.Owner {
		return &acoustics.InputError{Field: "person", Value: u.Login, Hint: "office and owner see all jobs, because they give the access"}
	}
	return nil
}

// Viewer is who looks with a device, or with a browser, where device is empty: the people whose access has not ended.
func (a *Accounts) Viewer(ctx context.Context, w Who) (replica.Viewer, error) {
	v := replica.Viewer{Device: w.Device, Persons: map[string]jobs.Role{w.Person: w.Role}}
	if w.Device == "" {
		return v, nil
	}
	holders, err := a.Holders(ctx, w.Company, w.Device)
	for _, h := range holders {
		if !h.Ended {
			v.Persons[h.Person] = h.Role
		}
	}
	return v, err
}

// MayLeaveAside slows down whoever leaves records of a revoked device with the server: nobody signs in for it. The counts are in the
// database, so all servers on it share them. An honest device needs a few calls once in its life.
func (a *Accounts) MayLeaveAside(ctx context.Context, address, device string) error {
	at := addressSubject(address)
	at.key = "aside " + at.key
	subjects := []subject{at}
	if device != "" {
		subjects = []subject{{key: "aside device " + device, slowDown: slowDown{free: 40, first: byAddress.first, longest: byAddress.longest}}}
	}
	return a.attempt(ctx, subjects...)
}
