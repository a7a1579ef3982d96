package jobs

import (
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"

	"tacet/acoustics"
)

// Recording is what a person records: one struct for each kind, with the JSON keys of the command line and the forms.
type Recording interface {
	// Valid checks shape and ranges, without looking at the job.
	Valid() error
	// Allowed checks the author's right to record this on this job. It is asked at both doors: what it refuses is not
	// recorded here, and is held when it arrives from elsewhere.
	Allowed(j *Job, a Author) error
	// apply files the record under its subject. The state is derived from what is filed, never from the order of arrival.
	apply(j *Job, r *Record)
	// says tells in one line what the record says, for whoever reads a history.
	says(j *Job, r *Record) string
}

// desk is what a kind refuses only where the person who records can still answer: things that another device, which
// has not seen the same entries, can't be blamed for. What arrives from elsewhere is never refused for it.
type desk interface{ Fits(j *Job) error }

// Common is what any record may carry.
type Common struct {
	Do        string   `json:"do"`
	By        string   `json:"by,omitempty" sealed:"name"`   // who did it, where that is not who records it
	Note      string   `json:"note,omitempty" sealed:"note"` // free text
	At        string   `json:"at,omitempty"`                 // when it was done, RFC 3339
	FromPaper bool     `json:"from_paper,omitempty"`         // typed in later from a sheet filled in by pen
	Photos    []string `json:"photos,omitempty" ref:"photos"`
	// Taken is when the photos were taken, in their order, RFC 3339, as their cameras say; empty where one does not say. The kept pictures say
	// nothing of it any more.
	Taken []string `json:"taken,omitempty"`
	Over  string   `json:"over,omitempty" ref:"over"` // the entry that this one supersedes
}

func (c Common) common() Common { return c }

func (c Common) valid() error {
	if err := text("by", c.By, 0, 200); err != nil {
		return err
	}
	if err := text("note", c.Note, 0, 4000); err != nil {
		return err
	}
	if len(c.Photos) > MaxBlobs {
		return &InputError{Field: "photos", Value: itoa(len(c.Photos)), Range: "at most 32"}
	}
	if len(c.Taken) > MaxBlobs {
		return &InputError{Field: "taken", Value: itoa(len(c.Taken)), Range: "at most 32"}
	}
	for i, t := range c.Taken {
		if err := timestamp("taken["+itoa(i)+"]", t); err != nil {
			return err
		}
	}
	return timestamp("at", c.At)
}

// kind is one entry of the registry.
type kind struct {
	name    string
	version int
	typ     reflect.Type
	zero    func() Recording
	on      map[string]string // JSON key -> field of On
	refs    map[string]string // JSON key -> way to refer
	sealed  []string          // JSON keys of what people said and who they are
	people  bool              // it tells of people from outside: somebody from outside reads nothing of what is sealed
}

var kinds = map[string]kind{}

// registerKind adds a kind of entry. Fields tagged `on:"surface"` and so on are the subject and stand in the envelope;
// fields tagged `ref:"over"` name other entries by id at the edge and by hash in the envelope; texts tagged `sealed:"person"` hold what people from outside
// said and who they are, `sealed:"place"` what names a home; they are sealed, as are the note and who did it in every kind; the rest is the body.
func registerKind[T any, P interface {
	*T
	Recording
}](name string, version int) string {
	if _, twice := kinds[name]; twice {
		panic("entry kind registered twice: " + name)
	}
	k := kind{name: name, version: version, typ: reflect.TypeFor[T](), zero: func() Recording { return P(new(T)) },
		on: map[string]string{}, refs: map[string]string{}}
	for _, f := range jsonFields(k.typ) {
		if on := f.field.Tag.Get("on"); on != "" {
			k.on[f.key] = on
		}
		if ref := f.field.Tag.Get("ref"); ref != "" {
			k.refs[f.key] = ref
		}
		if sealed := f.field.Tag.Get("sealed"); sealed != "" {
			if f.field.Type.Kind() != reflect.String {
				panic(name + ": what is sealed is one text, in whose place another can stand: " + f.key)
			}
			k.sealed = append(k.sealed, f.key)
			k.people = k.people || sealed == "person"
		}
	}
	kinds[name] = k
	return name
}

// Kinds lists the kinds of entries by name.
func Kinds() []string { return slices.Sorted(maps.Keys(kinds)) }

// KindVersion returns the version of a kind that this program writes, 0 for an unknown kind.
func KindVersion(name string) int { return kinds[name].version }

type jsonField struct {
	key     string
	field   reflect.StructField
	numbers bool // there may be measured numbers in it
}

var knownFields sync.Map // reflect.Type to []jsonField

// jsonFields lists the fields of a struct by JSON key, those of embedded structs included. Nobody changes the list: it is made once,
// because every body that is read asks for it.
func jsonFields(t reflect.Type) []jsonField {
	if known, ok := knownFields.Load(t); ok {
		return known.([]jsonField)
	}
	var fs []jsonField
	for i := range t.NumField() {
		f := t.Field(i)
		key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && key == "":
			fs = append(fs, jsonFields(f.Type)...)
		case key != "" && key != "-" && f.IsExported():
			fs = append(fs, jsonField{key, f, holdsNumbers(f.Type, nil)})
		}
	}
	knownFields.Store(t, fs)
	return fs
}

func unknownKind(do string) error {
	return &acoustics.InputError{Field: "do", Value: do, Range: "one of " + strings.Join(Kinds(), ", ")}
}
