package jobs

import (
	"bytes"
	"fmt"
	"strconv"
	"time"
)

// Clock is a hybrid logical clock: 48 bits of Unix milliseconds and a 16-bit counter that carries into them. It orders
// entries that no reference orders; it never decides whether an entry is taken.
type Clock uint64

// ClockAt returns the clock of a wall time, counter 0.
func ClockAt(t time.Time) Clock { return Clock(uint64(t.UnixMilli()) << 16) }

// Time returns the wall part in UTC.
func (c Clock) Time() time.Time { return time.UnixMilli(int64(c >> 16)).UTC() }

// Next returns the first clock after both c and the wall time.
func (c Clock) Next(now time.Time) Clock { return max(c+1, ClockAt(now)) }

// MarshalText writes 16 hexadecimal digits, so that text sorts as the clock does.
func (c Clock) MarshalText() ([]byte, error) { return fmt.Appendf(nil, "%016x", uint64(c)), nil }

// UnmarshalText reads 16 lower-case hexadecimal digits.
func (c *Clock) UnmarshalText(text []byte) error {
	v, err := strconv.ParseUint(string(text), 16, 64)
	if err != nil || len(text) != 16 || bytes.ContainsAny(text, "ABCDEF") {
		return fmt.Errorf("clock %q is not 16 hexadecimal digits", text)
	}
	*c = Clock(v)
	return nil
}
