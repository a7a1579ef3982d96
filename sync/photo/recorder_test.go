package photo

import (
	"errors"
	"maps"
	mrand "math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// op is a step on the disk, as a Dir asked for it.
type op struct {
	do       string // mkdir, create, write, sync, rename, remove, syncdir
	path, to string
	at       int64
	data     []byte
	log      int64 // how long the log of the database was when the step was done
}

// recorder does what it is asked for on the disk, and notes it. Told to stop, it fails from some step on, as for a program that is
// ended there.
type recorder struct {
	disk
	ops   []op
	log   func() int64
	stop  int             // fail once so many steps are noted; 0 never
	skips map[string]bool // steps that are asked for and not done: what a careless program leaves out
}

var errEnded = errors.New("the program was ended")

func (r *recorder) note(o op, err error) error {
	if err == nil && !r.skips[o.do] {
		o.log = r.log()
		r.ops = append(r.ops, o)
	}
	return err
}

func (r *recorder) ended() error {
	if r.stop > 0 && len(r.ops) >= r.stop {
		return errEnded
	}
	return nil
}

func (r *recorder) MkdirAll(dir string) error {
	if err := r.ended(); err != nil {
		return err
	}
	return r.note(op{do: "mkdir", path: dir}, r.disk.MkdirAll(dir))
}

func (r *recorder) CreateTemp(dir, pattern string) (file, error) {
	if err := r.ended(); err != nil {
		return nil, err
	}
	f, err := r.disk.CreateTemp(dir, pattern)
	if err != nil {
		return nil, err
	}
	return recorded{f, r}, r.note(op{do: "create", path: f.Name()}, nil)
}

func (r *recorder) Open(name string) (file, error) {
	if err := r.ended(); err != nil {
		return nil, err
	}
	_, missing := os.Stat(name)
	f, err := r.disk.Open(name)
	if err != nil {
		return nil, err
	}
	if missing != nil {
		err = r.note(op{do: "create", path: name}, nil)
	}
	return recorded{f, r}, err
}

func (r *recorder) Rename(from, to string) error {
	if err := r.ended(); err != nil {
		return err
	}
	return r.note(op{do: "rename", path: from, to: to}, r.disk.Rename(from, to))
}

func (r *recorder) Remove(name string) error {
	if err := r.ended(); err != nil {
		return err
	}
	return r.note(op{do: "remove", path: name}, r.disk.Remove(name))
}

func (r *recorder) SyncDir(dir string) error {
	if err := r.ended(); err != nil {
		return err
	}
	return r.note(op{do: "syncdir", path: dir}, r.disk.SyncDir(dir))
}

type recorded struct {
	file
	r *recorder
}

func (f recorded) WriteAt(p []byte, at int64) (int, error) {
	if err := f.r.ended(); err != nil {
		return 0, err
	}
	n, err := f.file.WriteAt(p, at)
	return n, f.r.note(op{do: "write", path: f.Name(), at: at, data: slices.Clone(p)}, err)
}

func (f recorded) Sync() error {
	if err := f.r.ended(); err != nil {
		return err
	}
	return f.r.note(op{do: "sync", path: f.Name()}, f.file.Sync())
}

// bytesOf is what a file holds: as written, and as it was when it was synced last.
type bytesOf struct{ written, synced []byte }

// change is what a folder is told: a name that leads to something now, or to nothing. A rename is both in one.
type change struct {
	name, gone string
	file       *bytesOf // nil with a name: a folder
}

// folder is what is on the disk of a folder for certain, and what may be.
type folder struct {
	sure    map[string]*bytesOf
	pending []change
}

// after plays steps again as a disk takes them: what a folder is told, and what is written to a file, is there for certain only when
// that folder, or that file, has been synced since. Until then any part of it may be: each change of a folder by itself, as no standard
// says that they go in order; of a file any beginning, and behind it nothing, zeros or anything.
func after(ops []op, root string) map[string]*folder {
	folders, names := map[string]*folder{}, map[string]*bytesOf{}
	in := func(path string) *folder {
		dir := filepath.Dir(path)
		if folders[dir] == nil {
			folders[dir] = &folder{sure: map[string]*bytesOf{}}
		}
		return folders[dir]
	}
	tell := func(path string, c change) {
		f := in(path)
		f.pending = append(f.pending, c)
	}
	dirs := map[string]bool{filepath.Dir(root): true}
	for _, o := range ops {
		switch o.do {
		case "mkdir":
			for dir := o.path; !dirs[dir]; dir = filepath.Dir(dir) {
				dirs[dir] = true
				tell(dir, change{name: filepath.Base(dir)})
			}
		case "create":
			names[o.path] = &bytesOf{}
			tell(o.path, change{name: filepath.Base(o.path), file: names[o.path]})
		case "write":
			f := names[o.path]
			if grown := int(o.at) + len(o.data); grown > len(f.written) {
				f.written = append(f.written, make([]byte, grown-len(f.written))...)
			}
			f.written = slices.Clone(f.written)
			copy(f.written[o.at:], o.data)
		case "sync":
			names[o.path].synced = names[o.path].written
		case "rename":
			tell(o.to, change{name: filepath.Base(o.to), gone: filepath.Base(o.path), file: names[o.path]})
			names[o.to] = names[o.path]
			delete(names, o.path)
		case "remove":
			tell(o.path, change{gone: filepath.Base(o.path)})
			delete(names, o.path)
		case "syncdir":
			f := in(filepath.Join(o.path, "any"))
			for _, c := range f.pending {
				c.in(f.sure)
			}
			f.pending = nil
		}
	}
	return folders
}

func (c change) in(names map[string]*bytesOf) {
	if c.gone != "" {
		delete(names, c.gone)
	}
	if c.name != "" {
		names[c.name] = c.file
	}
}

// leave writes what a power cut may have left of a folder, and of all in it, to another place: where it is told so, nothing that was not
// synced.
func leave(folders map[string]*folder, dir, to string, least bool, draw *mrand.Rand) error {
	if err := os.MkdirAll(to, 0o700); err != nil {
		return err
	}
	f := folders[dir]
	if f == nil {
		return nil
	}
	names := maps.Clone(f.sure)
	through := draw.IntN(3) // none, all, or any of what was not synced
	if least {
		through = 0
	}
	for _, c := range f.pending {
		if through == 1 || through == 2 && draw.IntN(2) == 0 {
			c.in(names)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if names[name] == nil {
			if err := leave(folders, filepath.Join(dir, name), filepath.Join(to, name), least, draw); err != nil {
				return err
			}
		} else if err := os.WriteFile(filepath.Join(to, name), names[name].left(draw), 0o600); err != nil {
			return err
		}
	}
	return nil
}

// left is what a power cut leaves of a file.
func (b *bytesOf) left(draw *mrand.Rand) []byte {
	if string(b.synced) == string(b.written) {
		return b.synced
	}
	kept := slices.Clone(b.written)
	from := draw.IntN(len(kept) + 1)
	switch draw.IntN(3) {
	case 0:
		kept = kept[:from]
	case 1:
		clear(kept[from:])
	default:
		for i := from; i < len(kept); i++ {
			kept[i] = byte(draw.Uint32())
		}
	}
	if len(kept) < len(b.synced) {
		return b.synced
	}
	copy(kept, b.synced) // what is synced is not written again: a part only grows
	return kept
}

// isPhoto tells a photo's name from that of something on its way.
func isPhoto(path string) bool {
	return strings.HasSuffix(path, ".jpg") && !strings.HasPrefix(filepath.Base(path), ".")
}
