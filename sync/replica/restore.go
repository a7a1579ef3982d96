package replica

import (
	"fmt"

	"tacet/jobs"
)

// Restore reads an entry that a store kept. The bytes were checked at the door, once; Verify checks them again.
func Restore(env, body []byte, h jobs.Hash) (jobs.Entry, error) {
	e := jobs.Entry{Hash: h, Env: env, Data: body}
	var err error
	if e.Envelope, err = jobs.ReadEnvelope(env); err != nil {
		return e, fmt.Errorf("entry %s: %w", h, ErrBroken)
	}
	return e, nil
}
