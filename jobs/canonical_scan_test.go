package jobs

import (
	"strings"
	"testing"
)

// What the short way takes for canonical, the long way must too: the short way may only ever say less.
func FuzzPlainlyCanonical(f *testing.F) {
	for _, s := range []string{`{}`, `[]`, `{"a":1,"b":[true,false,null,"x\n\"\\é"],"c":{"d":-9007199254740991}}`, `{"a":1,"a":2}`, `{"b":1,"a":2}`, `01`, `-0`, `1.0`, `"\u0041"`,
		`"\/"`, `9007199254740992`, `{"a" :1}`, `tru`, `"`, `{"a":1,}`, `[1,]`, "\"\x7f\"", "{\"\x7f\":1}", `{"a\"":1}`, strings.Repeat("[", 40) + strings.Repeat("]", 40)} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := checkCanonical(data); err != nil && plainlyCanonical(data) {
			t.Fatalf("%q passes the short way and not the long one: %v", data, err)
		}
	})
}

// Entries as they are written pass the short way, else it is of no use.
func TestEntriesPassTheShortWay(t *testing.T) {
	for _, s := range []string{`{"do":"note","text":"two lines\nand \"quotes\" – é"}`, `{"at":"2026-03-02T08:00:00Z","n":12,"photos":[],"share":"0.5","x":-3,"y":0,"z":{"a":[{"b":true}]}}`} {
		if !plainlyCanonical([]byte(s)) {
			t.Errorf("%s takes the long way", s)
		}
	}
}
