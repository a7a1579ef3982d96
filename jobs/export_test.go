package jobs

import "reflect"

// TextFields lists the keys of a kind that hold text or lists of text, subject and references left out.
func TextFields(kind string) []string {
	var keys []string
	for _, f := range jsonFields(kinds[kind].typ) {
		t := f.field.Type
		if t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t == reflect.TypeFor[string]() && f.field.Tag.Get("on") == "" && f.field.Tag.Get("ref") == "" {
			keys = append(keys, f.key)
		}
	}
	return keys
}
