package jobs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"
)

// Record is an entry of a job, with what it says where this program can read it.
type Record struct {
	*Entry           // as written, but for references that mean another entry; shared by copies of the job, never changed
	What   Recording // nil: the body is held back or erased, or a newer version wrote it
	pos    int       // place in the fold order
}

// Common returns what any record may carry.
func (r *Record) Common() Common {
	if c, ok := r.What.(interface{ common() Common }); ok {
		return c.common()
	}
	return Common{}
}

// DoneAt is when the work was done, as recorded; else the device's clock when it was recorded.
func (r *Record) DoneAt() time.Time {
	if t, err := time.Parse(time.RFC3339, r.Common().At); err == nil {
		return t.UTC()
	}
	return r.Clk.Time()
}

// Newer tells whether a newer version of the program recorded this in a way that is not understood here.
func (e Entry) Newer() bool {
	k, ok := kinds[e.Kind]
	return !ok || e.KV > k.version
}

// heard is what a body said when it was read with a key.
type heard struct {
	what   Recording
	err    error
	key    []byte
	opened bool // by the key
}

// ReadBody reads what the body says, once for all who ask this entry or a copy of it.
func (e *Entry) ReadBody() {
	what, opened, err := readBody(*e)
	e.read = &heard{what: what, err: err, key: e.Key, opened: opened}
}

// open gives what the body says, in the struct of its kind, which nobody changes.
func open(e Entry) (Recording, error) {
	if r := e.read; r != nil && e.Data != nil && (r.key == nil) == (e.Key == nil) && bytes.Equal(r.key, e.Key) {
		return e.read.what, e.read.err
	}
	what, _, err := readBody(e)
	return what, err
}

func readBody(e Entry) (what Recording, opened bool, err error) {
	k, ok := kinds[e.Kind]
	if !ok || e.KV > k.version || e.Data == nil {
		return nil, false, nil
	}
	tree, opened, err := openTree(e)
	if err != nil {
		return nil, false, err
	}
	what, err = k.decode(tree)
	if err != nil {
		what, err = k.decode(onlyKnown(k.typ, tree))
	}
	return what, opened, err
}

// edgeTree gives an entry's body the form that a person typed: numbers as numbers, subject and photos included, without
// references. What is sealed in it is readable where its key is here.
func edgeTree(e Entry) (map[string]any, error) {
	m, _, err := openTree(e)
	return m, err
}

// openTree is edgeTree, and whether the entry's key opened what is sealed.
func openTree(e Entry) (m map[string]any, opened bool, err error) {
	k, ok := kinds[e.Kind]
	if !ok {
		return nil, false, unknownKind(e.Kind)
	}
	tree, err := readTree(e.Data)
	if err != nil {
		return nil, false, fmt.Errorf("body of entry %s: %w", e.ID, err)
	}
	back, err := walk(k.typ, tree, false)
	if err != nil {
		return nil, false, fmt.Errorf("body of entry %s: %w", e.ID, err)
	}
	m, ok = back.(map[string]any)
	if !ok {
		return nil, false, fmt.Errorf("body of entry %s is not an object", e.ID)
	}
	delete(m, "salt")
	opened = k.unseal(m, e.Key)
	m["do"] = e.Kind
	// Subject, references and files stand in the envelope, by which an entry is filed. A body that names others is read without them, so
	// that nobody is asked about one place and recorded at another.
	for key := range k.refs {
		delete(m, key)
	}
	for key, on := range k.on {
		delete(m, key)
		switch on {
		case "layer":
			if e.On.Layer != 0 {
				m[key] = json.Number(itoa(e.On.Layer))
			}
		default:
			if v := *e.On.field(on); v != "" {
				m[key] = v
			}
		}
	}
	for key, as := range k.refs {
		switch as {
		case "photos":
			if len(e.Blobs) > 0 {
				list := make([]any, len(e.Blobs))
				for i, h := range e.Blobs {
					list[i] = h.String()
				}
				m[key] = list
			}
		case "file":
			if len(e.Blobs) > 0 {
				m[key] = e.Blobs[0].String()
			}
		}
	}
	return m, opened, nil
}

// field points to the text field of that name.
func (o *On) field(name string) *string {
	switch name {
	case "surface":
		return &o.Surface
	case "check":
		return &o.Check
	case "structure":
		return &o.Structure
	case "room":
		return &o.Room
	}
	panic("no subject called " + name)
}
