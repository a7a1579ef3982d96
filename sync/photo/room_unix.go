//go:build linux || darwin

package photo

import "syscall"

// RoomOn looks at the disk that a folder lies on.
func RoomOn(dir string) Room {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return Room{}
	}
	size := int64(s.Bsize)
	return Room{Free: int64(s.Bavail) * size, Of: int64(s.Blocks) * size, Known: true}
}
