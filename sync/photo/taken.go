package photo

import (
	"bytes"
	"encoding/binary"
	"time"
)

// Tags of Exif 2.3 (JEITA CP-3451C): where the camera's own part is, when the picture was taken, and how far that is from UTC.
const (
	tagExif     = 0x8769
	tagOriginal = 0x9003
	tagOffset   = 0x9011
)

// Taken is when a picture says that it was taken; zero where it does not say. A camera that does not tell its zone is taken to be in zone. It is the
// word of the camera's clock and nothing more. What is kept of a picture does not say it any more, so it goes into the record.
func Taken(data []byte, zone *time.Location) time.Time {
	exif := exifOf(data)
	if len(exif) < 8 {
		return time.Time{}
	}
	var order binary.ByteOrder
	switch string(exif[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return time.Time{}
	}
	first := tags(exif, order, order.Uint32(exif[4:]))
	own := tags(exif, order, first.number(tagExif))
	text := own.text(exif, tagOriginal)
	if offset := own.text(exif, tagOffset); offset != "" {
		if t, err := time.Parse("2006:01:02 15:04:05-07:00", text+offset); err == nil {
			return sensible(t)
		}
	}
	t, err := time.ParseInLocation("2006:01:02 15:04:05", text, zone)
	if err != nil {
		return time.Time{}
	}
	return sensible(t)
}

// sensible drops what a camera with an empty battery says.
func sensible(t time.Time) time.Time {
	if t.Year() < 2000 || t.Year() > 2200 {
		return time.Time{}
	}
	return t.UTC()
}

// exifOf finds the Exif part among the segments of a JPEG.
func exifOf(data []byte) []byte {
	if len(data) < 4 || data[0] != 0xff || data[1] != 0xd8 {
		return nil
	}
	for at := 2; at+4 <= len(data) && data[at] == 0xff; {
		marker, size := data[at+1], int(binary.BigEndian.Uint16(data[at+2:]))
		if marker == 0xda || size < 2 || at+2+size > len(data) {
			return nil
		}
		if part, ok := bytes.CutPrefix(data[at+4:at+2+size], []byte("Exif\x00\x00")); ok && marker == 0xe1 {
			return part
		}
		at += 2 + size
	}
	return nil
}

// tag is an entry of a table: its type, how many values, and the four bytes that are the value or say where it is.
type tag struct{ kind, count, value uint32 }

type table map[uint16]tag

// tags reads the table at a place; an empty one where there is none.
func tags(exif []byte, order binary.ByteOrder, at uint32) table {
	t := table{}
	if at == 0 || uint64(at)+2 > uint64(len(exif)) {
		return t
	}
	n := int(order.Uint16(exif[at:]))
	for i := range n {
		e := uint64(at) + 2 + 12*uint64(i)
		if e+12 > uint64(len(exif)) {
			break
		}
		t[order.Uint16(exif[e:])] = tag{uint32(order.Uint16(exif[e+2:])), order.Uint32(exif[e+4:]), order.Uint32(exif[e+8:])}
	}
	return t
}

func (t table) number(id uint16) uint32 { return t[id].value }

// text is the text of a tag that is too long to stand in the table.
func (t table) text(exif []byte, id uint16) string {
	e, ok := t[id]
	if !ok || e.kind != 2 || e.count < 5 || e.count > 64 || uint64(e.value)+uint64(e.count) > uint64(len(exif)) {
		return ""
	}
	return string(bytes.TrimRight(exif[e.value:uint64(e.value)+uint64(e.count)], "\x00 "))
}
