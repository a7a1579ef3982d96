package jobs

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"

	"tacet/acoustics"
)

// Draft is a composed record that only lacks its place in a lane.
type Draft struct {
	Kind  string
	KV    int
	On    On
	Refs  []Ref
	Blobs []Hash
	Body  []byte
	Key   []byte // of what is sealed in the body
}

// Compose turns one JSON object as a person or a form gives it ("do" names the kind) into a draft, against the job as it
// stands. Photos are already hashes. All that is refused is refused here, before anything is written.
func Compose(j *Job, a Author, edge []byte) (Draft, error) {
	var head struct {
		Do string `json:"do"`
	}
	if err := json.Unmarshal(edge, &head); err != nil {
		return Draft{}, acoustics.Decode(edge, &Common{})
	}
	k, ok := kinds[head.Do]
	if !ok {
		return Draft{}, unknownKind(head.Do)
	}
	what, edge, err := fill(j, k, edge)
	if err != nil {
		return Draft{}, err
	}
	if err := what.Valid(); err != nil {
		return Draft{}, err
	}
	if err := what.Allowed(j, a); err != nil {
		return Draft{}, err
	}
	if f, ok := what.(desk); ok {
		if err := f.Fits(j); err != nil {
			return Draft{}, err
		}
	}
	tree, err := parseTree(edge)
	if err != nil {
		return Draft{}, &InputError{Field: "record", Value: err.Error()}
	}
	m := tree.(map[string]any) // Decode has read it as an object
	d := Draft{Kind: k.name, KV: k.version}
	if err := d.takeSubject(k, m); err != nil {
		return Draft{}, err
	}
	if err := d.takeRefs(j, k, m); err != nil {
		return Draft{}, err
	}
	if n, ok := what.(interface{ names(*Job) []Ref }); ok {
		d.addRefs(n.names(j))
	}
	if len(d.Refs) > MaxRefs {
		return Draft{}, &InputError{Field: "sees", Value: strconv.Itoa(len(d.Refs)), Range: "at most 64 entries"}
	}
	delete(m, "do")
	body, err := walk(k.typ, m, true)
	if err != nil {
		return Draft{}, &InputError{Field: "record", Value: err.Error()}
	}
	salt := make([]byte, 16)
	if _, err := rand.Read(salt); err != nil {
		return Draft{}, fmt.Errorf("salt: %w", err)
	}
	if d.Key, err = k.seal(body.(map[string]any)); err != nil {
		return Draft{}, &InputError{Field: "record", Value: err.Error()}
	}
	body.(map[string]any)["salt"] = base64.RawURLEncoding.EncodeToString(salt)
	if d.Body, err = Canonical(body); err != nil {
		return Draft{}, &InputError{Field: "record", Value: err.Error()}
	}
	if len(d.Body) > MaxBody {
		return Draft{}, &InputError{Field: "record", Value: strconv.Itoa(len(d.Body)), Range: "at most 32768", Unit: "bytes"}
	}
	return d, nil
}

// filler is a kind of which the program itself writes a part as it is recorded: a prediction as it stood, layers copied
// from a like surface. It is written once; whoever folds the entry later reads it and never works it out again.
type filler interface {
	// fills adds to tree, the record as given. It runs before any check of the record, which then sees the whole.
	fills(j *Job, tree map[string]any) error
}

// fill reads the edge into its kind, with what the program writes itself.
func fill(j *Job, k kind, edge []byte) (Recording, []byte, error) {
	what := k.zero()
	if err := acoustics.Decode(edge, what); err != nil {
		return nil, nil, err
	}
	f, ok := what.(filler)
	if !ok {
		return what, edge, nil
	}
	tree, err := parseTree(edge)
	if err != nil {
		return nil, nil, &InputError{Field: "record", Value: err.Error()}
	}
	m := tree.(map[string]any) // Decode has read it as an object
	if err := f.fills(j, m); err != nil {
		return nil, nil, err
	}
	if edge, err = encode(m); err != nil {
		return nil, nil, fmt.Errorf("fill %s: %w", k.name, err)
	}
	what = k.zero()
	if err := acoustics.Decode(edge, what); err != nil {
		return nil, nil, err
	}
	return what, edge, nil
}

// treeOf gives a value the form that it has in a record.
func treeOf(v any) (any, error) {
	data, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("write into a record: %w", err)
	}
	return parseTree(data)
}

// takeSubject moves the subject from the body to the envelope.
func (d *Draft) takeSubject(k kind, m map[string]any) error {
	for key, on := range k.on {
		v, ok := m[key]
		if !ok {
			continue
		}
		delete(m, key)
		switch v := v.(type) {
		case json.Number:
			n, err := strconv.Atoi(string(v))
			if err != nil {
				return &InputError{Field: key, Value: string(v), Range: "a whole number from 1"}
			}
			d.On.Layer = n
		case string:
			*d.On.field(on) = v
		}
	}
	return nil
}

// takeRefs moves the ids of other entries to the envelope, as hashes.
func (d *Draft) takeRefs(j *Job, k kind, m map[string]any) error {
	for key, as := range k.refs {
		v, ok := m[key]
		if !ok {
			continue
		}
		delete(m, key)
		var ids []string
		switch v := v.(type) {
		case string:
			ids = []string{v}
		case []any:
			for _, e := range v {
				s, _ := e.(string)
				ids = append(ids, s)
			}
		}
		for _, id := range ids {
			if id == "" {
				continue
			}
			if as == "photos" || as == "file" {
				h, err := ParseHash(id)
				if err != nil {
					return &InputError{Field: key, Value: id, Hint: "give a file that can be read, JPEG or PNG"}
				}
				d.Blobs = append(d.Blobs, h)
				continue
			}
			r, ok := j.byID[id]
			if !ok {
				return &InputError{Field: key, Value: id, Hint: "no entry of this job has that id"}
			}
			d.addRefs([]Ref{{r.Hash, As(as)}})
		}
	}
	return nil
}

func (d *Draft) addRefs(refs []Ref) {
	for _, r := range refs {
		known := false
		for _, have := range d.Refs {
			known = known || have == r
		}
		if !known {
			d.Refs = append(d.Refs, r)
		}
	}
}

// Admit is the rule at the door where entries arrive: nil lets an entry stand, an [ErrRefused] holds it with that
// sentence. An entry of an unknown kind or a newer version stands: it is kept and forwarded, and nothing is concluded
// from it. A body that can't be read or is out of range is held too.
func Admit(j *Job, e Entry) error {
	if e.Newer() {
		return nil
	}
	what, err := open(e)
	if err != nil {
		return refuse(err.Error())
	}
	if what == nil {
		return refuse("the body is missing")
	}
	if err := what.Valid(); err != nil {
		return refuse(err.Error())
	}
	if err := what.Allowed(j, Author{Person: e.By, Role: e.Role, Reissued: !e.Was.IsZero()}); err != nil {
		if errors.Is(err, ErrRefused) {
			return err
		}
		return refuse(err.Error())
	}
	return nil
}
