package privacy

import (
	"context"
	"fmt"
)

// Gone is what went by itself of a class.
type Gone struct {
	Company, Class string
	Days           int
	Lines          int64
}

// Daily forgets, in every firm, what goes by itself once it is over its time. Records are never among it: those an owner erases, in their
// name. Several servers may do it at the same time: what one has taken away the others no longer find, so each line is told of once.
func (d *Desk) Daily(ctx context.Context) (gone []Gone, err error) {
	firms, err := d.Accounts.Companies(ctx)
	if err != nil {
		return nil, err
	}
	for _, f := range firms {
		kept, err := d.Classes(ctx, f.ID)
		if err != nil {
			return gone, err
		}
		for _, k := range kept {
			if !k.Itself {
				continue
			}
			n, err := d.Accounts.ForgetLooks(ctx, f.ID, d.Now().AddDate(0, 0, -k.Now), false)
			if err != nil {
				return gone, fmt.Errorf("company %s: %w", f.ID, err)
			}
			if n > 0 {
				gone = append(gone, Gone{Company: f.ID, Class: k.Code, Days: k.Now, Lines: n})
			}
		}
	}
	return gone, nil
}
