package phone

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"image/jpeg"
	"io"
	"path"
	"slices"
	"strings"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// Limits of a file of unsent work: it comes from anywhere.
const (
	maxUnsentFiles = 20_000
	maxUnsentBatch = 4 * replica.MaxBatchBytes
	maxPixels      = 50_000_000
)

// Imported is what a file of unsent work brought.
type Imported struct {
	Device  string
	Entries int // new here
	Known   int // here already
	Held    int // of the new ones: wait for the supervisor
	Aside   int // kept aside, because the device was cut off
	Photos  int
}

// Import takes in what a phone could not send and wrote to a file: the batches that it would have sent, sealed by its key, and its
// photos. They pass the same door as any push, so a changed byte is found, and a file that is taken in twice changes nothing. Nobody
// has signed in for it: what needs that is held.
func Import(ctx context.Context, rec *replica.Replica, acc *accounts.Accounts, r io.ReaderAt, size int64) (Imported, error) {
	var done Imported
	z, err := zip.NewReader(r, size)
	if err != nil || len(z.File) > maxUnsentFiles {
		return done, &jobs.InputError{Field: "file", Value: "not a file of unsent work", Hint: "give the file that the phone saved"}
	}
	slices.SortFunc(z.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	var co string
	for _, f := range z.File {
		if !strings.HasPrefix(f.Name, "batches/") {
			continue
		}
		if co, err = done.take(ctx, rec, acc, f); err != nil {
			return done, fmt.Errorf("%s: %w", f.Name, err)
		}
	}
	if co == "" {
		return done, &jobs.InputError{Field: "file", Value: "without a record", Hint: "give the file that the phone saved"}
	}
	if done.Aside > 0 {
		return done, nil // photos come with what is admitted, from the file once more
	}
	for _, f := range z.File {
		if !strings.HasPrefix(f.Name, "photos/") {
			continue
		}
		if err := done.takePhoto(ctx, rec, co, f); err != nil {
			return done, fmt.Errorf("%s: %w", f.Name, err)
		}
	}
	return done, nil
}

func (i *Imported) take(ctx context.Context, rec *replica.Replica, acc *accounts.Accounts, f *zip.File) (co string, err error) {
	in, err := f.Open()
	if err != nil {
		return "", damaged(err)
	}
	b, err := wire.ReadBatch(io.LimitReader(in, maxUnsentBatch))
	if err := errors.Join(err, in.Close()); err != nil {
		return "", err
	}
	if len(b.Entries) == 0 {
		return "", damaged(errors.New("it is empty"))
	}
	first, err := jobs.ParseEntry(b.Entries[0].Env, b.Entries[0].Body)
	if err != nil {
		return "", damaged(err)
	}
	devices, err := acc.DevicesOf(ctx, first.Co)
	if err != nil {
		return "", err
	}
	at := slices.IndexFunc(devices, func(d accounts.Device) bool { return d.ID == first.Dev })
	if at < 0 {
		return "", fmt.Errorf("device %s: %w", first.Dev, jobs.ErrNotFound)
	}
	i.Device = first.Dev
	people, err := acc.Holders(ctx, first.Co, first.Dev)
	if err != nil {
		return "", err
	}
	who := replica.Pusher{Device: first.Dev, Key: devices[at].Key, Persons: map[string]jobs.Role{}}
	for _, p := range people {
		who.Persons[p.Person] = p.Role
	}
	a, err := rec.Receive(ctx, first.Co, who, b)
	if errors.Is(err, replica.ErrRevoked) {
		a, err = rec.FileAside(ctx, b)
		i.Aside += len(a.Verdicts)
		return first.Co, err
	}
	for _, v := range a.Verdicts {
		switch {
		case v.Known:
			i.Known++
		case v.State == replica.Held:
			i.Held++
			i.Entries++
		default:
			i.Entries++
		}
	}
	return first.Co, err
}

// takePhoto takes a picture that an entry here names: photos/JOB/SHA-256.jpg.
func (i *Imported) takePhoto(ctx context.Context, rec *replica.Replica, co string, f *zip.File) error {
	job := path.Base(path.Dir(f.Name))
	sum, err := hex.DecodeString(strings.TrimSuffix(path.Base(f.Name), ".jpg"))
	if err != nil || len(sum) != len(jobs.Hash{}) {
		return damaged(errors.New("the name is no hash"))
	}
	in, err := f.Open()
	if err != nil {
		return damaged(err)
	}
	data, err := io.ReadAll(io.LimitReader(in, photo.MaxBytes+1))
	if err := errors.Join(err, in.Close()); err != nil {
		return damaged(err)
	}
	if head, err := jpeg.DecodeConfig(bytes.NewReader(data)); err != nil || head.Width*head.Height > maxPixels {
		return damaged(errors.New("not a JPEG picture"))
	}
	if err := rec.TakePhoto(ctx, co, job, jobs.Hash(sum), data); err != nil {
		return err
	}
	i.Photos++
	return nil
}

func damaged(err error) error {
	return &jobs.InputError{Field: "file", Value: "damaged", Hint: err.Error()}
}
