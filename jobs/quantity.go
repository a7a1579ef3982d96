package jobs

// Quantities of a target, a sound test and a difference: three airborne, one impact (lower is better). The order is that in which they
// are shown; each is compared with itself only.
const (
	DnTwCtr = "dntw_ctr"
	DnTw    = "dntw"
	LnTw    = "lntw"
	Rw      = "rw"
)

// Quantities lists them.
func Quantities() []string { return []string{DnTwCtr, DnTw, LnTw, Rw} }

// QuantityName is a quantity as the standards write it; what is none is written as it came.
func QuantityName(code string) string {
	switch code {
	case DnTwCtr:
		return "DnT,w + Ctr"
	case DnTw:
		return "DnT,w"
	case LnTw:
		return "L′nT,w"
	case Rw:
		return "Rw"
	}
	return code
}
