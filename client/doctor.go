package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/server/commandline"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

type doctorCmd struct{}

// finding is one thing that was looked at.
type finding struct {
	what, says string
	wrong      bool // something has to be done
}

// Run looks for what is wrong with this home and says what to do. Exit 1 if something is.
func (c *doctorCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		looks := []func(context.Context, *home.Home) (finding, error){lookAtFolder, lookAtRoom, lookAtKey, lookAtRecord, lookAtPhotos, lookAtOutbox, lookAtServer}
		wrong := 0
		var list []finding
		for _, look := range looks {
			f, err := look(s.ctx, h)
			if err != nil {
				f.says, f.wrong = commandline.OneLine(err), true
			}
			if f.wrong {
				wrong++
			}
			list = append(list, f)
		}
		if err := s.table(func(w io.Writer) {
			for _, f := range list {
				mark := "fine"
				if f.wrong {
					mark = "wrong"
				}
				fmt.Fprintf(w, "%s\t%s\t%s\n", mark, f.what, f.says)
			}
		}); err != nil {
			return err
		}
		if wrong > 0 {
			return fmt.Errorf("%s of %d wrong", jobs.Count(wrong, "thing"), len(list))
		}
		return nil
	})
}

func lookAtFolder(_ context.Context, h *home.Home) (finding, error) {
	f := finding{what: "folder", says: h.Dir}
	probe, err := os.CreateTemp(h.Dir, ".probe-*")
	if err != nil {
		return f, err
	}
	_, err = probe.Write(make([]byte, 1<<20))
	err = errors.Join(err, probe.Sync(), probe.Close(), os.Remove(probe.Name()))
	f.says += ", can be written to"
	return f, err
}

func lookAtRoom(_ context.Context, h *home.Home) (finding, error) {
	f := finding{what: "space"}
	r := h.Room()
	if !r.Known {
		f.says = "how much is left is not told by this system"
		return f, nil
	}
	f.says = fmt.Sprintf("%.1f of %.1f GB left", float64(r.Free)/1e9, float64(r.Of)/1e9)
	if w := r.Words(); w != "" {
		f.says, f.wrong = w, true
	}
	return f, nil
}

func lookAtKey(_ context.Context, h *home.Home) (finding, error) {
	f := finding{what: "key", says: "device " + h.Me.Device + ", its key readable by its owner alone"}
	for _, name := range []string{filepath.Join("keys", h.Me.Device+".key"), "sign-in.json"} {
		info, err := os.Stat(filepath.Join(h.Dir, name))
		if errors.Is(err, os.ErrNotExist) && name == "sign-in.json" {
			continue
		}
		if err != nil {
			return f, err
		}
		if info.Mode().Perm()&0o077 != 0 {
			return f, fmt.Errorf("%s can be read by others; take their right to it away (chmod 600)", name)
		}
	}
	return f, nil
}

func lookAtRecord(ctx context.Context, h *home.Home) (finding, error) {
	f := finding{what: "record"}
	rows, err := h.Replica.Jobs(ctx, h.Me.Company)
	if err != nil {
		return f, err
	}
	entries := 0
	for _, r := range rows {
		p, err := h.Replica.Prove(ctx, h.Me.Company, r.ID)
		if err != nil {
			return f, err
		}
		entries += p.Entries
	}
	f.says = fmt.Sprintf("%s, %d entries, every hash, chain and seal holds", jobs.Count(len(rows), "job"), entries)
	return f, nil
}

func lookAtPhotos(ctx context.Context, h *home.Home) (finding, error) {
	f := finding{what: "photos"}
	var list []replica.Photo
	err := h.Store.Read(ctx, h.Me.Company, func(tx replica.Tx) (err error) {
		list, err = tx.AllPhotos()
		return err
	})
	if err != nil {
		return f, err
	}
	here, gone := 0, 0
	for _, p := range list {
		if p.Gone() {
			gone++
			continue
		}
		if !p.Here {
			continue
		}
		if _, err := h.Blobs.Get(ctx, h.Me.Company, p.H); err != nil {
			return f, err
		}
		here++
	}
	f.says = fmt.Sprintf("%d here and whole, %d still to come", here, len(list)-here-gone)
	if gone > 0 {
		f.says += fmt.Sprintf(", %d erased", gone)
	}
	return f, nil
}

func lookAtOutbox(ctx context.Context, h *home.Home) (finding, error) {
	f := finding{what: "to send"}
	waiting, photos, oldest, err := h.Replica.Waiting(ctx, h.Me.Company)
	switch {
	case err != nil:
		return f, err
	case !h.Enrolled():
		f.says = "nothing: this home works alone"
	case waiting+photos == 0:
		f.says = "nothing"
	default:
		f.says = fmt.Sprintf("%s and %s, the oldest from %s", jobs.Count(waiting, "record"), jobs.Count(photos, "photo"), oldest.Format("2 Jan 2006, 15:04 UTC"))
	}
	return f, nil
}

// lookAtServer asks the server what it is. Without a connection nothing is wrong here.
func lookAtServer(ctx context.Context, h *home.Home) (finding, error) {
	f := finding{what: "server"}
	if !h.Enrolled() {
		f.says = "none: this home works alone"
		return f, nil
	}
	t, err := h.Transport()
	if err != nil {
		return f, err
	}
	hello, err := t.Hello(ctx)
	switch {
	case errors.Is(err, replica.ErrUnreachable):
		f.says = h.Me.Server + " does not answer now; work goes on without it"
		return f, nil
	case err != nil:
		return f, err
	}
	off := time.Since(time.UnixMilli(hello.Time)).Round(time.Second)
	f.says = fmt.Sprintf("%s answers, protocol %d", h.Me.Server, wire.Protocol)
	if off.Abs() > home.ClockSlack {
		f.says, f.wrong = home.ClockWords(off), true
	}
	return f, nil
}
