package wire_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/sync/wire"
)

// What was written is read, signs of life left out.
func TestNewsAreReadAsWritten(t *testing.T) {
	var b bytes.Buffer
	for _, err := range []error{wire.WriteNewsStart(&b, time.Second, 3), wire.WriteNewsBeat(&b), wire.WriteNews(&b, 5), wire.WriteNewsBeat(&b)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	const want = "retry: 1000\nevent: at\ndata: 3\n\n:\n\nevent: at\ndata: 5\n\n:\n\n" // as WHATWG HTML, 9.2, has it
	if b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
	var heard []int64
	beats := 0
	if err := wire.ReadNews(&b, func() { beats++ }, func(end int64) { heard = append(heard, end) }); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(heard, []int64{3, 5}) || beats != 11 {
		t.Errorf("heard %v in %d lines", heard, beats)
	}
}

// What is no news of ours is left out, an event that was cut counts as nothing, and a line without end is refused.
func TestNewsThatAreNone(t *testing.T) {
	for _, c := range []struct {
		says string
		want []int64
	}{
		{"", nil},
		{"event: at\ndata: 4", nil},
		{"data: 4\n\n", nil},
		{"event: other\ndata: 4\n\nevent: at\r\ndata:5\r\n\r\n", []int64{5}},
		{"event: at\ndata: -1\n\nevent: at\ndata: x\n\nevent: at\n\n", nil},
		{"id: 1\nevent: at\ndata: 6\nwhat: ever\n\n", []int64{6}},
	} {
		var heard []int64
		if err := wire.ReadNews(strings.NewReader(c.says), func() {}, func(end int64) { heard = append(heard, end) }); err != nil || !slices.Equal(heard, c.want) {
			t.Errorf("%q: heard %v, %v; want %v", c.says, heard, err, c.want)
		}
	}
	if err := wire.ReadNews(strings.NewReader(strings.Repeat("x", 1<<20)), func() {}, func(int64) {}); err == nil {
		t.Error("a line without end was read")
	}
}
