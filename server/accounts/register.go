package accounts

import (
	"context"
	"errors"
	"fmt"

	"tacet/jobs"
	"tacet/sync/replica"
)

// The record keeps its own list of devices, because a push reads the state of its device in the very transaction in which its entries
// are taken, and a list of names for its pages. Both are told after the accounts have changed; telling twice does no harm, so a crash
// between the two is mended by the next try or the next start.

func (a *Accounts) tellDevice(ctx context.Context, co string, d replica.Device) error {
	err := a.record.Write(ctx, co, func(tx replica.Tx) error {
		there, err := tx.Device(d.ID)
		if errors.Is(err, jobs.ErrNotFound) {
			d.Enrolled, d.NextRun = a.ms(), 1
			return tx.PutDevice(d)
		}
		if err != nil {
			return err
		}
		if there.Revoked != 0 || d.Revoked == 0 {
			return nil
		}
		there.Revoked = d.Revoked
		return tx.PutDevice(there)
	})
	if err != nil {
		return fmt.Errorf("tell the record of device %s: %w", d.ID, err)
	}
	return nil
}

func (a *Accounts) tellPeople(ctx context.Context, co string) error {
	people, err := a.People(ctx, co)
	if err != nil {
		return err
	}
	if err := a.record.Write(ctx, co, func(tx replica.Tx) error { return tx.PutPeople(people) }); err != nil {
		return fmt.Errorf("tell the record who is who: %w", err)
	}
	return nil
}

// People is the directory of a company as its devices get it.
func (a *Accounts) People(ctx context.Context, co string) ([]replica.Person, error) {
	users, err := a.Users(ctx, co)
	if err != nil {
		return nil, err
	}
	people := make([]replica.Person, len(users))
	for i, u := range users {
		people[i] = replica.Person{ID: u.Person, Name: u.Name, Role: u.Role}
	}
	return people, nil
}

// Reconcile tells the record of every company what the accounts know: its people, its devices, and the server itself as one of them,
// so that what is recorded on the server's pages has a lane. A server does it when it starts.
func (a *Accounts) Reconcile(ctx context.Context) error {
	companies, err := a.Companies(ctx)
	if err != nil {
		return err
	}
	for _, c := range companies {
		if err := a.tellServer(ctx, c.ID); err != nil {
			return err
		}
		if err := a.followAll(ctx, c.ID); err != nil {
			return err
		}
		if err := a.tellPeople(ctx, c.ID); err != nil {
			return err
		}
	}
	devices, err := a.Devices(ctx)
	if err != nil {
		return err
	}
	for _, d := range devices {
		known := replica.Device{ID: d.ID, Key: d.Key, Name: d.Name, Person: d.Person}
		if d.State == revoked {
			known.Revoked = a.ms()
		}
		if err := a.tellDevice(ctx, d.Company, known); err != nil {
			return err
		}
	}
	return nil
}

func (a *Accounts) tellServer(ctx context.Context, co string) error {
	return a.tellDevice(ctx, co, replica.Device{ID: a.Keys().Server, Key: a.Keys().RecordPublic(), Name: "server"})
}
