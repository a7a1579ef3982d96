package acoustics

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Role says what a layer does for sound, so that drawing and take-off need not know its kind.
type Role string

// The roles of layers.
const (
	RoleMass      Role = "mass"      // has weight and bending stiffness
	RoleLimp      Role = "limp"      // has weight, no stiffness
	RoleCavity    Role = "cavity"    // a space, empty or filled, with or without framing
	RoleResilient Role = "resilient" // a spring under a floating layer
	RoleLoose     Role = "loose"     // weight without stiffness, poured between or on others
	RoleCovering  Role = "covering"  // softens impact only
)

// Element is one layer of a build-up. Its numbers at the edge are in the units their JSON keys name.
type Element interface {
	// Kind is the word that names the layer in JSON.
	Kind() string
	// Valid joins one [InputError] for each field out of range, each with path in front of its field.
	Valid(path string) error
	// MassKgM2 is the surface mass in kg/m², framing and fill included.
	MassKgM2() float64
	// ThicknessMM is the thickness in mm.
	ThicknessMM() float64
	// Role says what the layer does for sound.
	Role() Role
	// Weighed is the layer with another surface mass in kg/m² and thickness in mm, as it was fitted; frames and cavities keep their own.
	Weighed(massKgM2, thicknessMM float64) Element
}

var layerKinds = map[string]func() Element{}

// RegisterKind adds a layer kind under its name. zero returns an empty layer of the kind, by value. It is called from package-level
// variables only, so that the registry is complete before main starts; a name used twice panics.
func RegisterKind(kind string, zero func() Element) string {
	if _, twice := layerKinds[kind]; twice {
		panic("layer kind registered twice: " + kind)
	}
	layerKinds[kind] = zero
	return kind
}

// LayerKinds lists the registered kinds, sorted.
func LayerKinds() []string {
	kinds := make([]string, 0, len(layerKinds))
	for k := range layerKinds {
		kinds = append(kinds, k)
	}
	slices.Sort(kinds)
	return kinds
}

// kindsWords lists the kinds for whoever named none of them: those that make a build-up, and apart from them those that only change what
// exists, which a job may specify and no calculation takes by itself.
func kindsWords() string {
	var made, changed []string
	for _, k := range LayerKinds() {
		if _, ok := plain(layerKinds[k]()).(parts); ok {
			made = append(made, k)
		} else {
			changed = append(changed, k)
		}
	}
	says := strings.Join(made, ", ")
	if len(changed) > 0 {
		says += "; what a job specifies may also be " + strings.Join(changed, " or ")
	}
	return says
}

// LayerType returns the struct type behind a kind, for callers that walk JSON by type. The key "kind" is not one of its fields.
func LayerType(kind string) (reflect.Type, bool) {
	zero, ok := layerKinds[kind]
	if !ok {
		return nil, false
	}
	return reflect.TypeOf(plain(zero())), true
}

// Layer is an [Element] that knows its way to and from JSON. The zero Layer marshals as null.
type Layer struct{ Element }

// UnmarshalJSON reads the element that "kind" names and refuses unknown keys.
func (l *Layer) UnmarshalJSON(data []byte) error {
	if first(data) == 'n' {
		*l = Layer{}
		return nil
	}
	if first(data) != '{' {
		return wrongType("", data, "an object in braces")
	}
	if !json.Valid(data) {
		return invalid(data)
	}
	keys, values := members(data)
	kind, rest := "", []byte{'{'}
	for i, k := range keys {
		if k == "kind" {
			if json.Unmarshal(values[i], &kind) != nil {
				return wrongType("kind", values[i], "text")
			}
			continue
		}
		if len(rest) > 1 {
			rest = append(rest, ',')
		}
		name, err := json.Marshal(k)
		if err != nil {
			return asInput(err, k)
		}
		rest = append(append(append(rest, name...), ':'), values[i]...)
	}
	zero, ok := layerKinds[kind]
	if !ok {
		if err := refuseOrthotropic("kind", kind); err != nil {
			return err
		}
		err := oneOf("kind", kind, LayerKinds()...).(*InputError) // it is none of them
		err.Range = "one of " + kindsWords()
		return err
	}
	empty := reflect.ValueOf(plain(zero()))
	target := reflect.New(empty.Type())
	target.Elem().Set(empty)
	if err := Decode(append(rest, '}'), target.Interface()); err != nil {
		return err
	}
	l.Element = target.Elem().Interface().(Element)
	return nil
}

// MarshalJSON writes the element with its kind first.
func (l Layer) MarshalJSON() ([]byte, error) {
	if l.Element == nil {
		return []byte("null"), nil
	}
	body, err := json.Marshal(l.Element)
	if err != nil {
		return nil, err
	}
	out := []byte(`{"kind":` + strconv.Quote(l.Kind()))
	if inner := bytes.TrimSpace(body[1 : len(body)-1]); len(inner) > 0 {
		out = append(append(out, ','), inner...)
	}
	return append(out, '}'), nil
}

// validLayers checks every layer of a list under the given path.
func validLayers(path string, layers []Layer) []error {
	var errs []error
	for i, l := range layers {
		at := indexed(path, i)
		if l.Element == nil {
			errs = append(errs, &InputError{Field: at, Value: "missing", Range: "a layer of kind " + kindsWords()})
			continue
		}
		if err := l.Valid(at); err != nil {
			errs = append(errs, err)
		}
	}
	return errs
}

// plain takes the pointer off an element, so that type switches see one type for each kind.
func plain(e Element) Element {
	if v := reflect.ValueOf(e); v.Kind() == reflect.Pointer && !v.IsNil() {
		if inner, ok := v.Elem().Interface().(Element); ok {
			return inner
		}
	}
	return e
}
