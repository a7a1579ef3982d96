package home

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/google/uuid"

	"tacet/jobs"
	"tacet/sync/durable"
	"tacet/sync/replica"
)

// origin is who a home is before it joins a company.
type origin struct {
	Company string `json:"company"`
	Device  string `json:"device"`
	Person  string `json:"person"`
}

func (h *Home) originPath() string { return filepath.Join(h.Dir, "first.json") }

// first settles who a new home is. Two processes that start in an empty folder at the same moment settle on the same:
// whoever puts first.json in place decides, and the other reads it.
func (h *Home) first(ctx context.Context) (replica.Me, error) {
	o, err := h.readOrigin()
	if errors.Is(err, fs.ErrNotExist) {
		if err = h.makeOrigin(); err == nil {
			o, err = h.readOrigin()
		}
	}
	if err != nil {
		return replica.Me{}, fmt.Errorf("set up this home: %w", err)
	}
	me := replica.Me{Company: o.Company, Device: o.Device, Person: o.Person, Role: jobs.Owner, Active: true}
	err = h.Store.Write(ctx, me.Company, func(tx replica.Tx) error {
		if had, err := tx.Me(); err == nil {
			me = had // the other process was faster
			return nil
		}
		if err := tx.PutPeople([]replica.Person{{ID: o.Person, Name: "this device", Role: jobs.Owner}}); err != nil {
			return err
		}
		return tx.PutMe(me)
	})
	if err != nil {
		return replica.Me{}, fmt.Errorf("set up this home: %w", err)
	}
	return me, nil
}

func (h *Home) readOrigin() (o origin, err error) {
	data, err := os.ReadFile(h.originPath())
	if err != nil {
		return o, err
	}
	if err := json.Unmarshal(data, &o); err != nil {
		return o, fmt.Errorf("%s does not hold what it should: %w", h.originPath(), err)
	}
	return o, nil
}

// makeOrigin draws ids and a key. Of several programs that do so at once, one puts first.json in place.
func (h *Home) makeOrigin() error {
	var o origin
	for _, id := range []*string{&o.Company, &o.Device, &o.Person} {
		v, err := NewID()
		if err != nil {
			return err
		}
		*id = v
	}
	if _, err := h.makeKey(o.Device); err != nil {
		return err
	}
	data, err := json.Marshal(o)
	if err != nil {
		return err
	}
	err = durable.New(h.originPath(), durable.Secret, durable.Bytes(append(data, '\n')))
	if errors.Is(err, fs.ErrExist) {
		err = os.Remove(h.keyPath(o.Device))
	}
	return err
}

// NewID draws a UUIDv7.
func NewID() (string, error) {
	id, err := uuid.NewV7()
	if err != nil {
		return "", fmt.Errorf("draw an id: %w", err)
	}
	return id.String(), nil
}
