package home_test

import (
	"slices"
	"testing"

	"tacet/sync/replica"
)

// What a server that was restored no longer has is said to be on its way, and that nothing is lost, until it stands there again.
func TestWarnsOfARestoredOffice(t *testing.T) {
	h, job := joined(t)
	say(t, h, job, "before the backup")
	const words = "The office copy was restored from a backup. Nothing is lost: 1 record of yours will be there again when this device has sent and fetched."
	warned := func() bool {
		list, err := h.Warnings(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return slices.Contains(list, words)
	}
	if warned() {
		t.Error("nothing has happened yet")
	}
	err := h.Store.Write(t.Context(), h.Me.Company, func(tx replica.Tx) error {
		if err := tx.ToConfirm(0); err != nil {
			return err
		}
		list, err := tx.From(h.Me.Device, 1)
		if err != nil {
			return err
		}
		for i, e := range list { // one of them alone
			state := replica.Unsent
			if i == len(list)-1 {
				state = replica.ToConfirm
			}
			if err := tx.SetState(e.Hash, state, 0, ""); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if !warned() {
		list, err := h.Warnings(t.Context())
		t.Errorf("%q, %v", list, err)
	}
}
