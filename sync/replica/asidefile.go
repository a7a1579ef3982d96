package replica

import "tacet/jobs"

// Why says why bytes may enter no lane.
type Why string

// The reasons.
const (
	WhyRevoked Why = "revoked"  // the device was shut out before it sent them
	WhyForked  Why = "forked"   // other entries stand at these places: the device was copied or restored
	WhyBadSeal Why = "bad_seal" // the seal is not by the device's key
	WhyUnknown Why = "unknown"  // the device is not one of the company's
)

// AsideState is what became of what was set aside.
type AsideState string

// The states.
const (
	AsideKept     AsideState = "kept"
	AsideAdmitted AsideState = "admitted"
	AsideRefused  AsideState = "refused"
)

// Aside is an entry that could not enter its lane. It has no position and is handed on to nobody; a supervisor looks at it.
type Aside struct {
	jobs.Entry
	Why   Why
	At    int64 // ms
	State AsideState
	Says  string
}
