package replica

import "tacet/jobs"

// dropKeys throws away the keys that an entry which stands says to throw away, and tells whether it said so. Where they
// are not here, nothing that brings them later is kept: an old backup, a device that comes back after a year.
func dropKeys(tx Tx, e jobs.Entry) (bool, error) {
	list := e.Erases()
	for _, h := range list {
		if err := tx.DropKey(h); err != nil {
			return false, err
		}
	}
	return len(list) > 0, nil
}

// forgetWords does the same for what was recorded on a device just now.
func forgetWords(tx Tx, es []jobs.Entry) error {
	for _, e := range es {
		gone, err := dropKeys(tx, e)
		if err != nil {
			return err
		}
		if !gone {
			continue
		}
		m, err := tx.Mark(e.Job)
		if err != nil {
			return err
		}
		m.Rev++
		if err := tx.SetMark(m); err != nil {
			return err
		}
	}
	return nil
}
