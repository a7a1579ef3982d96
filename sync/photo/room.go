package photo

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Room is how much space the disk has on which photos are kept.
type Room struct {
	Free, Of int64 // bytes
	Known    bool  // false where the system does not tell
}

const (
	// On small disks a share counts, on large ones an amount: notes need little, and must go on when photos can't.
	reserveMost = 64 << 20
	warnMost    = 1 << 30
)

// Low tells whether people should free some space before it is too late.
func (r Room) Low() bool { return r.Known && r.Free < min(warnMost, r.Of/10) }

// Short tells whether no more photos are taken: what is left is for records.
func (r Room) Short() bool { return r.Known && r.Free < r.reserve() }

func (r Room) reserve() int64 { return min(reserveMost, r.Of/20) }

// Words say what happened, what is safe and what to do; "" while there is room enough.
func (r Room) Words() string {
	switch {
	case r.Short():
		return "Almost no space. New photos can't be saved; notes still can. Free some space on this device."
	case r.Low():
		return fmt.Sprintf("Only %.1f GB of space left on this device. All is saved; free some space before photos can't be.", float64(r.Free)/1e9)
	}
	return ""
}

// Room looks at the disk.
func (d *Dir) Room() Room {
	for at := d.root; ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); err == nil || at == filepath.Dir(at) {
			return RoomOn(at)
		}
	}
}

// roomFor refuses what would take the space that records need.
func (d *Dir) roomFor(n int64) error {
	r := d.Room()
	r.Free -= n
	if r.Short() {
		return &replica.Refusal{Err: replica.ErrNoSpace, Says: "almost no space: new photos can't be saved, notes still can; free some space on this device"}
	}
	return nil
}

// full says in the sentinels of package replica that the disk is full.
func (d *Dir) full(h jobs.Hash, err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("keep photo %s: %w", h, replica.ErrNoSpace)
	}
	return fmt.Errorf("keep photo %s: %w", h, err)
}
