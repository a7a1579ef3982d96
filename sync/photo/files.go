package photo

import (
	"os"

	"tacet/sync/durable"
)

// files is what a Dir asks of the disk, one step a call, so that a test can stop between any two of them and lose what was not
// synced by then.
type files interface {
	MkdirAll(dir string) error
	CreateTemp(dir, pattern string) (file, error)
	Open(name string) (file, error) // for writing, made where it is not there
	Rename(from, to string) error
	Remove(name string) error
	SyncDir(dir string) error // what was made, moved and removed in it
}

type file interface {
	Name() string
	WriteAt(p []byte, at int64) (int, error)
	Sync() error
	Close() error
}

type disk struct{}

func (disk) MkdirAll(dir string) error { return os.MkdirAll(dir, 0o700) }

func (disk) CreateTemp(dir, pattern string) (file, error) { return os.CreateTemp(dir, pattern) }

func (disk) Open(name string) (file, error) { return os.OpenFile(name, os.O_CREATE|os.O_WRONLY, 0o600) }

func (disk) Rename(from, to string) error { return os.Rename(from, to) }

func (disk) Remove(name string) error { return os.Remove(name) }

func (disk) SyncDir(dir string) error { return durable.Folder(dir) }
