package jobs

import (
	"cmp"
	"strings"
)

// compareCodes orders codes as people do: C2 before C10, letter case aside.
func compareCodes(a, b string) int {
	x, y := strings.ToUpper(a), strings.ToUpper(b)
	for x != "" && y != "" {
		dx, dy := digits(x), digits(y)
		if dx != "" && dy != "" {
			tx, ty := strings.TrimLeft(dx, "0"), strings.TrimLeft(dy, "0")
			if c := cmp.Or(cmp.Compare(len(tx), len(ty)), cmp.Compare(tx, ty)); c != 0 {
				return c
			}
			x, y = x[len(dx):], y[len(dy):]
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

func digits(s string) string {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return s[:n]
}
