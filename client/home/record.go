package home

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/sync/photo"
)

// MaxRecords is the most that one batch may hold.
const MaxRecords = 2000

// NewJob records a new job in one go and returns its id.
func (h *Home) NewJob(ctx context.Context, edges []json.RawMessage) (string, error) {
	id, err := h.Replica.NewID()
	if err != nil {
		return "", err
	}
	if _, err := h.Replica.Record(ctx, h.Me.Company, h.Author(), id, edges); err != nil {
		return "", err
	}
	return id, nil
}

// Batch is what somebody wants to record: one object or a list of them, and the photos that they name.
type Batch struct {
	JSON   []byte
	Beside string   // folder in which file names that the objects give are looked up; "" for the working folder
	Photos []string // files given beside the objects; an object names them by their base name, or they go to the only one
}

// Recorded is what came of a batch.
type Recorded struct {
	Entries []jobs.Entry
	Unseen  []string // layers that the batch covered before they were seen, in plain words
}

// Record takes the whole batch or nothing. Photos are made small, stripped of what they say beyond the picture, and are
// on the disk before the entries that name them; the entries are on the disk when Record returns.
func (h *Home) Record(ctx context.Context, job string, b Batch) (Recorded, error) {
	edges, list, err := split(b.JSON)
	if err != nil {
		return Recorded{}, err
	}
	read := func() (*jobs.Job, error) { return h.Replica.Job(ctx, h.Me.Company, job) }
	if job == h.Me.Company {
		read = func() (*jobs.Job, error) { return h.FirmJob(ctx) }
	}
	before, err := read()
	if err != nil {
		return Recorded{}, err
	}
	edges, err = h.takePhotos(ctx, edges, b, list)
	if err != nil {
		return Recorded{}, err
	}
	es, err := h.Replica.Record(ctx, h.Me.Company, h.Author(), job, edges)
	if err != nil {
		if len(edges) == 1 {
			err = at(err, 0, list) // of several the record itself says which
		}
		return Recorded{}, err
	}
	after, err := read()
	if err != nil {
		return Recorded{}, err
	}
	return Recorded{Entries: es, Unseen: CoveredUnseen(before, after)}, nil
}

// split reads one object or a list of objects.
func split(data []byte) (edges []json.RawMessage, list bool, err error) {
	var whole json.RawMessage
	if err := acoustics.Decode(data, &whole); err != nil {
		return nil, false, err
	}
	switch trimmed := bytes.TrimSpace(whole); trimmed[0] {
	case '{':
		return []json.RawMessage{trimmed}, false, nil
	case '[':
		if err := json.Unmarshal(trimmed, &edges); err != nil {
			return nil, true, &jobs.InputError{Field: "record", Value: err.Error()}
		}
	default:
		return nil, false, &jobs.InputError{Field: "record", Value: "neither an object nor a list", Hint: `give {"do": …} or a list of such objects`}
	}
	if len(edges) == 0 || len(edges) > MaxRecords {
		return nil, true, &jobs.InputError{Field: "record", Value: strconv.Itoa(len(edges)) + " objects", Range: fmt.Sprintf("1 to %d", MaxRecords)}
	}
	return edges, true, nil
}

// at puts the place in the list in front of the field that an error names.
func at(err error, i int, list bool) error {
	if !list {
		return err
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		return in.At(fmt.Sprintf("[%d]", i))
	}
	return fmt.Errorf("[%d]: %w", i, err)
}

// pictures are the photos of a batch while it is made ready: first all are read and judged, then kept, so that one bad
// photo leaves nothing behind.
type pictures struct {
	batch Batch
	given map[string]string // base name -> path
	used  map[string]bool   // paths of given that an object names
	ready map[string][]byte // by path
	taken map[string]string // by path, when the camera says that it was
}

// takePhotos puts hashes where the objects name files.
func (h *Home) takePhotos(ctx context.Context, edges []json.RawMessage, b Batch, list bool) ([]json.RawMessage, error) {
	p := &pictures{batch: b, given: map[string]string{}, used: map[string]bool{}, ready: map[string][]byte{}, taken: map[string]string{}}
	for _, path := range b.Photos {
		if other, twice := p.given[filepath.Base(path)]; twice && other != path {
			return nil, &jobs.InputError{Field: "--photo", Value: path, Hint: "another photo has the same file name"}
		}
		p.given[filepath.Base(path)] = path
	}
	objects := make([]map[string]json.RawMessage, len(edges))
	for i, e := range edges {
		if err := json.Unmarshal(e, &objects[i]); err != nil || objects[i] == nil {
			return nil, at(&jobs.InputError{Field: "record", Value: "not an object"}, i, list)
		}
		if err := p.resolve(objects[i]); err != nil {
			return nil, at(err, i, list)
		}
	}
	if err := p.placeRest(objects); err != nil {
		return nil, err
	}
	for _, path := range p.paths(objects) {
		if err := p.read(path); err != nil {
			return nil, err
		}
	}
	hashes := map[string]jobs.Hash{}
	for _, path := range slices.Sorted(maps.Keys(p.ready)) {
		hash, err := h.Blobs.Put(ctx, h.Me.Company, p.ready[path])
		if err != nil {
			return nil, err
		}
		hashes[path] = hash
	}
	out := make([]json.RawMessage, len(edges))
	for i, o := range objects {
		if !hasPhotos(o) {
			out[i] = edges[i]
			continue
		}
		p.whenTaken(o)
		edge, err := json.Marshal(rename(o, func(path string) string { return hashes[path].String() }))
		if err != nil {
			return nil, at(err, i, list)
		}
		out[i] = edge
	}
	return out, nil
}

func hasPhotos(o map[string]json.RawMessage) bool { return o["photos"] != nil || o["file"] != nil }

// names are the photo names of an object: of "photos", and of "file".
func names(o map[string]json.RawMessage) (photos []string, file string, err error) {
	if raw := o["photos"]; raw != nil {
		if json.Unmarshal(raw, &photos) != nil {
			return nil, "", &jobs.InputError{Field: "photos", Value: "not a list of file names", Hint: `give "photos": ["name.jpg"]`}
		}
	}
	if raw := o["file"]; raw != nil {
		if json.Unmarshal(raw, &file) != nil {
			return nil, "", &jobs.InputError{Field: "file", Value: "not a file name"}
		}
	}
	return photos, file, nil
}

// rename puts other names in an object's photos.
func rename(o map[string]json.RawMessage, to func(string) string) map[string]json.RawMessage {
	out := maps.Clone(o)
	photos, file, _ := names(o) // read before, when they were resolved
	for i := range photos {
		photos[i] = to(photos[i])
	}
	if o["photos"] != nil {
		out["photos"], _ = json.Marshal(photos) // a list of strings can always be written
	}
	if file != "" {
		out["file"], _ = json.Marshal(to(file))
	}
	return out
}

// resolve puts the paths of files where an object gives their names.
func (p *pictures) resolve(o map[string]json.RawMessage) error {
	photos, file, err := names(o)
	if err != nil {
		return err
	}
	if slices.Contains(photos, "") {
		return &jobs.InputError{Field: "photos", Value: "an empty name", Hint: "give the name of a file"}
	}
	if len(photos) == 0 && file == "" {
		return nil
	}
	maps.Copy(o, rename(o, p.path))
	return nil
}

func (p *pictures) path(name string) string {
	if path, ok := p.given[filepath.Base(name)]; ok {
		p.used[path] = true
		return path
	}
	if filepath.IsAbs(name) || p.batch.Beside == "" {
		return name
	}
	return filepath.Join(p.batch.Beside, name)
}

// placeRest gives photos that no object names to photo records that lack their file, in order, and the rest to the only
// object there is.
func (p *pictures) placeRest(objects []map[string]json.RawMessage) error {
	var rest []string
	for _, path := range p.batch.Photos {
		if !p.used[path] {
			rest = append(rest, path)
		}
	}
	for _, o := range objects {
		if len(rest) > 0 && string(o["do"]) == `"photo"` && o["file"] == nil {
			o["file"], _ = json.Marshal(rest[0]) // a string can always be written
			rest = rest[1:]
		}
	}
	if len(rest) == 0 {
		return nil
	}
	if len(objects) > 1 {
		return &jobs.InputError{Field: "--photo", Value: rest[0], Hint: `no object of the list names it; say where it belongs with "photos": ["` + filepath.Base(rest[0]) + `"]`}
	}
	photos, _, err := names(objects[0])
	if err != nil {
		return err
	}
	objects[0]["photos"], err = json.Marshal(append(photos, rest...))
	return err
}

// paths lists the photos of all objects.
func (p *pictures) paths(objects []map[string]json.RawMessage) []string {
	var all []string
	for _, o := range objects {
		photos, file, _ := names(o) // read before, when they were resolved
		all = append(all, photos...)
		if file != "" {
			all = append(all, file)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// read reads a photo and makes it ready to be kept.
func (p *pictures) read(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return unreadable(path, err)
	}
	if info.Size() > photo.MaxBytes {
		return &jobs.InputError{Field: path, Value: fmt.Sprintf("%.1f MiB", float64(info.Size())/(1<<20)), Range: "at most 12", Unit: "MiB"}
	}
	if !info.Mode().IsRegular() {
		return &jobs.InputError{Field: "photos", Value: path, Hint: "that is no file"}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return unreadable(path, err)
	}
	if at := photo.Taken(data, time.Local); !at.IsZero() {
		p.taken[path] = at.Format(time.RFC3339)
	}
	p.ready[path], err = photo.Prepare(path, data)
	return err
}

// whenTaken notes in an object when its photos were taken, unless it says so itself.
func (p *pictures) whenTaken(o map[string]json.RawMessage) {
	photos, file, _ := names(o) // read before, when they were resolved
	if file != "" {
		photos = []string{file}
	}
	times, known := make([]string, len(photos)), false
	for i, path := range photos {
		times[i] = p.taken[path]
		known = known || times[i] != ""
	}
	if known && o["taken"] == nil {
		o["taken"], _ = json.Marshal(times) // a list of strings can always be written
	}
}

func unreadable(path string, err error) error {
	hint := "it can't be read"
	if errors.Is(err, fs.ErrNotExist) {
		hint = "there is no such file"
	}
	return &jobs.InputError{Field: "photos", Value: path, Hint: hint}
}
