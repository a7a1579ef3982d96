package acoustics

import (
	"bytes"
	"encoding/json"
	"slices"
	"testing"
	"unicode/utf8"
)

// FuzzSplit splits every valid object and list as encoding/json does.
func FuzzSplit(f *testing.F) {
	for _, s := range []string{`{}`, ` { "a" : 1 , "b\"\\" : [ 1 , {"c":"}],"} ] }`, `[]`, "[1,\t-2.5e3 ,true,null,\"]\"]", `{"a":{"a":[]},"é":""}`, `[[],[{}]]`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if !json.Valid(data) {
			return
		}
		switch first(data) {
		case '[':
			var want []json.RawMessage
			if err := json.Unmarshal(data, &want); err != nil {
				t.Skip(err)
			}
			if got := elements(data); !same(got, want) {
				t.Fatalf("%s: %q, encoding/json has %q", data, got, want)
			}
		case '{':
			var wantKeys []string
			var want []json.RawMessage
			d := json.NewDecoder(bytes.NewReader(data))
			_, _ = d.Token()
			for d.More() {
				k, err := d.Token()
				if err != nil {
					t.Skip(err)
				}
				var v json.RawMessage
				if err := d.Decode(&v); err != nil {
					t.Skip(err)
				}
				wantKeys, want = append(wantKeys, k.(string)), append(want, v)
			}
			keys, got := members(data)
			if !utf8.Valid(data) {
				return // text that is not UTF-8 is refused before anything is split
			}
			if !slices.Equal(keys, wantKeys) || !same(got, want) {
				t.Fatalf("%s: %q %q, encoding/json has %q %q", data, keys, got, wantKeys, want)
			}
		}
	})
}

func same(a, b []json.RawMessage) bool {
	return slices.EqualFunc(a, b, func(x, y json.RawMessage) bool { return bytes.Equal(x, y) })
}
