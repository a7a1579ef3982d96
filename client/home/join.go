package home

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// Joined is what came of an enrolment.
type Joined struct {
	Company string // name
	Person  string // name
	Role    jobs.Role
	Jobs    int // taken along
}

// joining is an enrolment under way. It is on the disk before the code is spent, so that a retry with the same code is
// the same device to the server.
type joining struct {
	Server string `json:"server"`
	Device string `json:"device"`
}

func (h *Home) firmPath() string { return filepath.Join(h.Dir, "firm.txt") }

// FirmName is the company's name as it is printed on sheets, "" where the home works alone.
func (h *Home) FirmName() string {
	name, err := os.ReadFile(h.firmPath())
	if err != nil {
		return "" // a sheet without the firm's name is still the sheet
	}
	return strings.TrimSpace(string(name))
}

func (h *Home) joiningPath() string { return filepath.Join(h.Dir, "joining.json") }

// Join enrols this home with a server by a one-time code, under a new device id, and takes its jobs into the company.
func (h *Home) Join(ctx context.Context, server, code, name string) (Joined, error) {
	if h.Enrolled() {
		return Joined{}, &jobs.InputError{Field: "server", Value: server, Hint: "this home is enrolled with " + h.Me.Server + " already; enrol another folder with --home"}
	}
	server = strings.TrimRight(server, "/")
	t, err := wire.NewHTTP(server, "", func(context.Context) (string, error) { return "", replica.ErrSignIn })
	if err != nil {
		return Joined{}, err
	}
	device, key, a, err := h.spend(ctx, t, server, code, name)
	if err != nil {
		return Joined{}, err
	}
	if err := h.keepSignIn(device, a.Tokens); err != nil {
		return Joined{}, err
	}
	me := replica.Me{Company: a.Company, Device: device, Person: a.Person, Role: a.Role, Server: server, Login: a.Login,
		Certificate: a.Certificate, ServerKey: a.ServerKey}
	n, err := h.Replica.Rejoin(ctx, h.Me.Company, me, key)
	if err != nil {
		return Joined{}, err
	}
	if err := h.Store.Write(ctx, me.Company, func(tx replica.Tx) error {
		return tx.PutPeople([]replica.Person{{ID: a.Person, Name: a.PersonName, Role: a.Role}})
	}); err != nil {
		return Joined{}, err
	}
	if err := h.use(me); err != nil {
		return Joined{}, err
	}
	if err := writeFile(h.firmPath(), []byte(a.CompanyName+"\n")); err != nil {
		return Joined{}, err
	}
	return Joined{Company: a.CompanyName, Person: a.PersonName, Role: a.Role, Jobs: n}, os.Remove(h.joiningPath())
}

// spend spends the code. A device id left over from an enrolment that was cut off, and that another code had made known,
// can't be used again: then a new one is taken.
func (h *Home) spend(ctx context.Context, t *wire.HTTP, server, code, name string) (device string, key ed25519.PrivateKey, a wire.EnrolAnswer, err error) {
	for range 2 {
		if device, key, err = h.joiningDevice(server); err != nil {
			return device, key, a, err
		}
		a, err = t.Enrol(ctx, wire.EnrolRequest{Code: code, Device: device, PublicKey: key.Public().(ed25519.PublicKey), Name: name, Key: key})
		var in *jobs.InputError
		if !errors.As(err, &in) || in.Field != "device" {
			return device, key, a, err
		}
		if err := os.Remove(h.joiningPath()); err != nil {
			return device, key, a, fmt.Errorf("take a new device id: %w", err)
		}
	}
	return device, key, a, err
}

// joiningDevice is the device id and key to enrol with: those of an enrolment with this server that was cut off, or new
// ones.
func (h *Home) joiningDevice(server string) (string, ed25519.PrivateKey, error) {
	data, err := os.ReadFile(h.joiningPath())
	if err == nil {
		var j joining
		if json.Unmarshal(data, &j) == nil && j.Server == server {
			key, err := h.readKey(j.Device)
			return j.Device, key, err
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return "", nil, fmt.Errorf("read what was begun: %w", err)
	}
	id, err := NewID()
	if err != nil {
		return "", nil, err
	}
	key, err := h.makeKey(id)
	if err != nil {
		return "", nil, err
	}
	if data, err = json.Marshal(joining{Server: server, Device: id}); err != nil {
		return "", nil, err
	}
	return id, key, writeFile(h.joiningPath(), append(data, '\n'))
}

// MoveServer notes that the home's server answers at another address. Its key stays the one that was pinned at
// enrolment, so nobody else can take its place.
func (h *Home) MoveServer(ctx context.Context, url string) error {
	return h.Store.Write(ctx, h.Me.Company, func(tx replica.Tx) error {
		me, err := tx.Me()
		if err != nil {
			return err
		}
		me.Server = url
		h.Me = me
		return tx.PutMe(me)
	})
}
