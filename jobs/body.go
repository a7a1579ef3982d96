package jobs

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"

	"tacet/acoustics"
)

// At the edge a measured number is a JSON number; in a body it is the same digits as text, because text has one form
// and numbers have many. Which texts are numbers is known from the Go type of the field, so a note that says "12.6"
// stays a note. A type that reads its own JSON (a curve, a union of list and word) has no fields to look at: in it
// every number becomes text, and every text that is a number becomes one again.

var unmarshaler = reflect.TypeFor[json.Unmarshaler]()

// walk rewrites the numbers of tree along the type it is meant for; with toText towards the body, else back.
func walk(t reflect.Type, tree any, toText bool) (any, error) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == reflect.TypeFor[acoustics.Layer]() {
		m, ok := tree.(map[string]any)
		if !ok {
			return tree, nil
		}
		name, _ := m["kind"].(string)
		lt, ok := acoustics.LayerType(name)
		if !ok {
			return nil, fmt.Errorf("layer kind %q is not known", name)
		}
		return walk(lt, tree, toText)
	}
	if reflect.PointerTo(t).Implements(unmarshaler) {
		return walkLoose(tree, toText), nil
	}
	switch t.Kind() {
	case reflect.Struct:
		m, ok := tree.(map[string]any)
		if !ok {
			return tree, nil
		}
		out := make(map[string]any, len(m))
		for k, v := range m {
			out[k] = v
		}
		for _, f := range jsonFields(t) {
			v, ok := m[f.key]
			if !ok || !f.numbers {
				continue
			}
			w, err := walk(f.field.Type, v, toText)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", f.key, err)
			}
			out[f.key] = w
		}
		return out, nil
	case reflect.Slice, reflect.Array:
		l, ok := tree.([]any)
		if !ok {
			return tree, nil
		}
		out := make([]any, len(l))
		for i, v := range l {
			w, err := walk(t.Elem(), v, toText)
			if err != nil {
				return nil, fmt.Errorf("[%d]: %w", i, err)
			}
			out[i] = w
		}
		return out, nil
	case reflect.Map:
		m, ok := tree.(map[string]any)
		if !ok {
			return tree, nil
		}
		out := make(map[string]any, len(m))
		for k, v := range m {
			w, err := walk(t.Elem(), v, toText)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", k, err)
			}
			out[k] = w
		}
		return out, nil
	case reflect.Float32, reflect.Float64:
		return swap(tree, toText), nil
	}
	return tree, nil
}

// holdsNumbers tells whether walk finds anything to rewrite in a value of that type; within are the types around it.
func holdsNumbers(t reflect.Type, within []reflect.Type) bool {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == reflect.TypeFor[acoustics.Layer]() || reflect.PointerTo(t).Implements(unmarshaler) {
		return true
	}
	if slices.Contains(within, t) {
		return false // what it holds besides itself is looked at where it stood first
	}
	within = append(within, t)
	switch t.Kind() {
	case reflect.Struct:
		for i := range t.NumField() {
			if holdsNumbers(t.Field(i).Type, within) {
				return true
			}
		}
		return false
	case reflect.Slice, reflect.Array, reflect.Map:
		return holdsNumbers(t.Elem(), within)
	}
	return t.Kind() == reflect.Float32 || t.Kind() == reflect.Float64
}

func walkLoose(tree any, toText bool) any {
	switch v := tree.(type) {
	case map[string]any:
		out := make(map[string]any, len(v))
		for k, e := range v {
			out[k] = walkLoose(e, toText)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, e := range v {
			out[i] = walkLoose(e, toText)
		}
		return out
	}
	return swap(tree, toText)
}

func swap(v any, toText bool) any {
	switch v := v.(type) {
	case json.Number:
		if toText {
			return string(v)
		}
	case string:
		if !toText && json.Valid([]byte(v)) {
			if _, err := number(v); err == nil {
				return json.Number(v)
			}
		}
	}
	return v
}
