package jobs

import (
	"encoding/json"
	"maps"
	"reflect"

	"tacet/acoustics"
)

// What a later version adds to an envelope or a body is optional for ever: this one passes it over when it reads, and keeps the
// bytes. What can't be passed over has a kind or a version of its own, and is not read here at all.

// decodeEnvelope reads an envelope that is canonical, whatever more a later version says in it.
func decodeEnvelope(env []byte) (e Envelope, err error) {
	tree, err := parseTree(env)
	if err != nil {
		return e, err
	}
	known, err := Canonical(onlyKnown(reflect.TypeFor[Envelope](), tree))
	if err != nil {
		return e, err
	}
	err = acoustics.Decode(known, &e)
	return e, err
}

// decode reads the form that a person typed.
func (k kind) decode(tree any) (Recording, error) {
	data, err := json.Marshal(tree)
	if err != nil {
		return nil, err
	}
	what := k.zero()
	if err := acoustics.Decode(data, what); err != nil {
		return nil, err
	}
	return what, nil
}

// onlyKnown leaves out the members that the type a tree is meant for does not have. A type that reads its own JSON is left alone.
func onlyKnown(t reflect.Type, tree any) any {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch v := tree.(type) {
	case map[string]any:
		if t == reflect.TypeFor[acoustics.Layer]() {
			name, _ := v["kind"].(string)
			lt, ok := acoustics.LayerType(name)
			if !ok {
				return tree
			}
			out, _ := onlyKnown(lt, tree).(map[string]any)
			out["kind"] = name
			return out
		}
		if reflect.PointerTo(t).Implements(unmarshaler) {
			return tree
		}
		out := make(map[string]any, len(v))
		switch t.Kind() {
		case reflect.Struct:
			for _, f := range jsonFields(t) {
				if member, ok := v[f.key]; ok {
					out[f.key] = onlyKnown(f.field.Type, member)
				}
			}
		case reflect.Map:
			for k, member := range v {
				out[k] = onlyKnown(t.Elem(), member)
			}
		default:
			maps.Copy(out, v)
		}
		return out
	case []any:
		if t.Kind() != reflect.Slice && t.Kind() != reflect.Array || reflect.PointerTo(t).Implements(unmarshaler) {
			return tree
		}
		out := make([]any, len(v))
		for i, member := range v {
			out[i] = onlyKnown(t.Elem(), member)
		}
		return out
	}
	return tree
}
