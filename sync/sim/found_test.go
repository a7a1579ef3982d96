package sim

import (
	"encoding/json"
	"testing"
)

// What schedules have found, told in steps that stay readable when actions are added.

// The server was restored, a record went there again, the answer was cut while it waited to be confirmed, and the server was restored
// once more: the record stayed on its device, to be confirmed for ever, and was sent to nobody.
func TestLostAgainWhileToBeConfirmed(t *testing.T) {
	w := newWorld("", 1)
	supervisor, d := w.devices[0], w.devices[2]
	restore := func() { restoreServer(w, &draws{step: &step{1, 0}}) }
	note := func(d *device) {
		text, err := json.Marshal(map[string]string{"do": "note", "text": w.word()})
		must(err, "note")
		d.record(jobIDs[0], text)
	}
	defer func() {
		if v := recover(); v != nil {
			t.Fatal(v)
		}
	}()
	note(supervisor)
	must(supervisor.sync(straight(0)), "exchange")
	must(d.sync(straight(0)), "exchange")
	restore()
	note(d)
	cut := straight(0)
	cut.cut = 2000
	if d.sync(cut) == nil {
		t.Fatal("nothing was cut")
	}
	restore()
	w.heal()
	w.judge()
}
