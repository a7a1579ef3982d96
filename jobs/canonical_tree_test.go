package jobs

import (
	"reflect"
	"testing"
)

// What the short way reads, the long way reads alike.
func FuzzReadTree(f *testing.F) {
	for _, s := range []string{`{}`, `[]`, `{"a":1,"b":[true,false,null,"x\n\"\\é"],"c":{"d":-9007199254740991}}`, `{"a":1,"a":2}`, `"\u0041"`, `"\ud800"`, `"\/"`, `1.0`, `-0`,
		`9007199254740992`, `{"a" :1}`, `tru`, `"`, `{"a":1,}`, `[1,]`, `{"a":1}x`, "\"\xff\"", "{\"\xff\":1}", `{"a\"":1}`, `{"a":}`, `[`, `-`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		short, err := readTree(data)
		long, errLong := parseTree(data)
		if (err == nil) != (errLong == nil) || !reflect.DeepEqual(short, long) {
			t.Fatalf("%q is %#v, %v by the short way and %#v, %v by the long one", data, short, err, long, errLong)
		}
	})
}
