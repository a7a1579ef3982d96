package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"reflect"
	"testing"
	"unicode/utf8"
)

// What the short way reads, the long way reads alike.
func FuzzReadFrame(f *testing.F) {
	for _, line := range []string{`{"entry":{"e":"{\"a\":\"x\\\\\\n\u00e9\"}","b":"{}","k":"AAEC"}}`, `{"entry":{"e":"é","k":"AA"}}`, `{"entry":{"e":""}}`, `{"entry":{"e":"","b":"","k":""}}`,
		`{"entry":{"e":"a","e":"b"}}`, `{"entry":{"e":"a","E":"b"}}`, `{"entry":{"b":"a","e":"b"}}`, `{"entry":{"e":"a"},"end":{"frames":1}}`, `{"entry":{"e":null}}`,
		`{"act":{"n":1,"act":"stand","h":"","job":"j","at":5,"says":",\"e\":\"no","e":"{}","b":"x"}}`, `{"act":{"n":1,"E":"y","e":"{}"}}`, `{"act":{"n":1,"x":{"y":1,"e":"t"}}}`,
		`{"act":{"n":1},"entry":{"x":1,"e":"t"}}`, `{"act":{"n":1,"e":"t"},"end":{}}`, `{"act":{"e":"t"}}`, `{"act":{,"e":"t"}}`, `{"act":{},"":{,"e":""}}`, `{"act":{"e":""},"x":{"y":1,"e":"t"}}`,
		`{"act":{"n":1,"x":["}",{"y":"\\\""}],"e":"t"}}`, `{"act":{"n":1,"b":"x","e":"t"}}`, `{"act":{"n":"1","e":"t"}}`, `{"entry":{"e":"a","k":"?"}}`, `{"entry":{"e":"a"}}x`,
		"{\"entry\":{\"e\":\"\t\"}}", `{"entry":{"e":"\`, `{"entry":{"e":"\ud800"}}`} {
		f.Add([]byte(line))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		if !utf8.Valid(line) {
			return // refused before
		}
		var short, long Frame
		err, errLong := readFrame(line, &short), json.Unmarshal(line, &long)
		if (err == nil) != (errLong == nil) || err == nil && !reflect.DeepEqual(short, long) {
			t.Fatalf("%s is %+v, %v by the short way and %+v, %v by the long one", line, short, err, long, errLong)
		}
	})
}

// Frames as they are written are read the short way, else it is of no use.
func TestFramesTakeTheShortWay(t *testing.T) {
	e := EntryFrame{E: Text(`{"a":"<é\n\"q\">"}`), B: Text(`{"b":1}`), K: []byte{1, 2}}
	for _, f := range []Frame{{Entry: &e}, {Entry: &EntryFrame{E: e.E}}, {Act: &ActFrame{N: 7, Act: "hold", Says: `because "so"`, EntryFrame: e}}} {
		var b bytes.Buffer
		w := newFrameWriter(&b)
		if err := errors.Join(w.put(f), w.w.Flush()); err != nil {
			t.Fatal(err)
		}
		line := bytes.TrimSpace(b.Bytes())
		if _, got, ok := scanEntry(line); !ok || string(got.E) != string(e.E) {
			t.Errorf("%s takes the long way", line)
		}
	}
}
