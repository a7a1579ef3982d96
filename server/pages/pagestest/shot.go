package pagestest

import "encoding/binary"

// Shot is Picture as a camera gives it: with the time at which it was taken, 09:12:13 on 25 November 2026, and no zone.
func Shot() []byte {
	order, text := binary.BigEndian, "2026:11:25 09:12:13\x00"
	exif := []byte("MM\x00*")
	exif = order.AppendUint32(exif, 8)
	entry := func(id, kind uint16, count, value uint32) { // one entry and the end of its table
		exif = order.AppendUint16(exif, 1)
		exif = order.AppendUint16(order.AppendUint16(exif, id), kind)
		exif = order.AppendUint32(order.AppendUint32(exif, count), value)
		exif = order.AppendUint32(exif, 0)
	}
	entry(0x8769, 4, 1, 26) // the camera's own table
	entry(0x9003, 2, uint32(len(text)), 44)
	part := append(append([]byte("Exif\x00\x00"), exif...), text...)
	head := order.AppendUint16([]byte{0xff, 0xd8, 0xff, 0xe1}, uint16(len(part)+2))
	return append(append(head, part...), Picture()[2:]...)
}
