package photo_test

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"testing"
	"time"

	"tacet/sync/photo"
)

// shot is a JPEG with an Exif part as JEITA CP-3451C lays it out: one table that points to the camera's own, and in that the texts.
func shot(t testing.TB, order binary.AppendByteOrder, original, offset string) []byte {
	t.Helper()
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	head := "MM\x00*"
	if order == binary.AppendByteOrder(binary.LittleEndian) {
		head = "II*\x00"
	}
	b := order.AppendUint32([]byte(head), 8)
	entry := func(id, kind uint16, count, value uint32) {
		b = order.AppendUint16(b, id)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, count)
		b = order.AppendUint32(b, value)
	}
	b = order.AppendUint16(b, 1)
	entry(0x8769, 4, 1, 26)
	b = order.AppendUint32(b, 0)
	b = order.AppendUint16(b, 2)
	text := uint32(26 + 2 + 24 + 4)
	entry(0x9003, 2, uint32(len(original)+1), text)
	entry(0x9011, 2, uint32(len(offset)+1), text+uint32(len(original)+1))
	b = order.AppendUint32(b, 0)
	b = append(b, original+"\x00"+offset+"\x00"...)
	part := append([]byte("Exif\x00\x00"), b...)
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1}, byte((len(part)+2)>>8), byte(len(part)+2))
	return append(append(out, part...), plain.Bytes()[2:]...)
}

func TestTaken(t *testing.T) {
	zone := time.FixedZone("here", 2*3600)
	for _, c := range []struct{ original, offset, want string }{
		{"2026:03:02 14:05:06", "+01:00", "2026-03-02T13:05:06Z"},
		{"2026:03:02 14:05:06", "", "2026-03-02T12:05:06Z"},
		{"1980:01:01 00:00:00", "", ""},
		{"no time at all", "", ""},
	} {
		for _, order := range []binary.AppendByteOrder{binary.BigEndian, binary.LittleEndian} {
			data := shot(t, order, c.original, c.offset)
			got := ""
			if at := photo.Taken(data, zone); !at.IsZero() {
				got = at.Format(time.RFC3339)
			}
			if got != c.want {
				t.Errorf("%s %s: %q, want %q", c.original, c.offset, got, c.want)
			}
			clean, err := photo.Prepare("x", data)
			if err != nil || !photo.Taken(clean, zone).IsZero() {
				t.Errorf("what is kept still says when: %v", err)
			}
		}
	}
}

func FuzzTaken(f *testing.F) {
	f.Add(shot(f, binary.BigEndian, "2026:03:02 14:05:06", "+01:00"))
	f.Add(shot(f, binary.LittleEndian, "2026:03:02 14:05:06", ""))
	f.Add([]byte{0xff, 0xd8, 0xff, 0xe1, 0, 2})
	f.Fuzz(func(t *testing.T, data []byte) {
		if at := photo.Taken(data, time.UTC); !at.IsZero() && (at.Year() < 1999 || at.Year() > 2201) {
			t.Errorf("taken %s", at)
		}
	})
}
