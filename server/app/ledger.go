package app

import (
	"context"
	"encoding/json"
	"fmt"

	"tacet/sync/replica"
)

// accessLedger keeps what was said about access beside the database and in no backup: a database that was put back does not take it back
// too. Each line is signed by itself.
type accessLedger struct{ lineFile }

// Append writes a line and syncs it.
func (l *accessLedger) Append(a replica.Access) error { return l.add(a) }

// lines reads all that can be read, by company.
func (l *accessLedger) lines() (map[string][]replica.Access, error) {
	said := map[string][]replica.Access{}
	return said, l.each(func(line []byte) {
		var a replica.Access
		if json.Unmarshal(line, &a) == nil && a.Co != "" {
			said[a.Co] = append(said[a.Co], a)
		}
	})
}

// replay does again what a ledger says and the database may not know any more. A line that is not signed by this server counts for
// nothing. It tells how many were news to the database.
func (h *house) replay(ctx context.Context, l *accessLedger) (news int, err error) {
	said, err := l.lines()
	if err != nil || len(said) == 0 {
		return 0, err
	}
	companies, err := h.accounts.Companies(ctx)
	if err != nil {
		return 0, err
	}
	for _, c := range companies {
		var ours []replica.Access
		for _, a := range said[c.ID] {
			if a.Verify(h.accounts.Keys().RecordPublic()) {
				ours = append(ours, a)
			}
		}
		for len(ours) > 0 {
			n := min(len(ours), replica.MaxAccess)
			fresh, err := h.replica.Heed(ctx, c.ID, ours[:n])
			if err == nil {
				err = h.accounts.Follow(ctx, c.ID, fresh)
			}
			if err != nil {
				return news, fmt.Errorf("replay the ledger of access: %w", err)
			}
			news += len(fresh)
			ours = ours[n:]
		}
	}
	return news, nil
}
