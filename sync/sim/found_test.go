package sim

import (
	"testing"

	"tacet/sync/replica"
)

// What schedules have found, told in steps that stay readable when actions are added.

// The server was restored, a record went there again, the answer was cut while it waited to be confirmed, and the server was restored
// once more: the record stayed on its device, to be confirmed for ever, and was sent to nobody.
func TestLostAgainWhileToBeConfirmed(t *testing.T) {
	w := newWorld("", 1)
	supervisor, d := w.devices[0], w.devices[2]
	restore := func() { restoreServer(w, &draws{step: &step{1, 0}}) }
	defer caught(t)
	supervisor.note(jobIDs[0])
	must(supervisor.sync(straight(0)), "exchange")
	must(d.sync(straight(0)), "exchange")
	restore()
	d.note(jobIDs[0])
	cut := straight(0)
	cut.cut = 2000
	if d.sync(cut) == nil {
		t.Fatal("nothing was cut")
	}
	restore()
	w.heal()
	w.judge()
}

// The server was restored, and a connection was cut just where a device offered what a scrapped one had written: it took it for offered,
// and never offered it again. Cut at each call in turn.
func TestOfferCutShort(t *testing.T) {
	cutAtEachCall(t, func(w *world, cut line) error {
		supervisor, d := w.devices[0], w.devices[1]
		d.note(jobIDs[0])
		must(d.sync(straight(0)), "exchange")
		must(supervisor.sync(straight(0)), "exchange")
		w.devices = []*device{supervisor, w.devices[2]}
		restoreServer(w, &draws{step: &step{1, 0}})
		return supervisor.sync(cut)
	})
}

// What is held of a job was left out while the job was kept from a device, the sign-in ran out before the device learnt what had been kept,
// and then the job was shown again: as much stood there as here, and the lane had a hole where the held entry is. Cut at each call in turn.
func TestHeldWhileKeptFromADevice(t *testing.T) {
	cutAtEachCall(t, func(w *world, cut line) error {
		d, other := w.devices[1], w.devices[2]
		w.say(replica.Access{What: replica.AccessJob, ID: d.person, Job: jobIDs[0]})
		d.note(jobIDs[0])
		early := straight(0)
		early.answer = 1
		_ = d.sync(early) // what became of it is not told, so that more can be recorded behind it
		d.note(jobIDs[0])
		w.say(replica.Access{What: replica.AccessJobs, ID: other.person})
		return other.sync(cut)
	})
}

// A standby that lags has not read yet what a device has: the device was told that the server had gone back, and began anew.
func TestStandbyBehindADevice(t *testing.T) {
	defer caught(t)
	w := newWorld("", 1)
	lagging(w, &draws{step: &step{2, 1, 0, 0, 1}})
	if w.met["a standby was asked"] == 0 {
		t.Fatal("no standby was asked")
	}
	late := w.devices[2]
	if list := look(late.store, func(tx replica.Tx) ([]replica.Stored, error) { return tx.InState(replica.ToConfirm, "", 100) }); len(list) > 0 {
		t.Errorf("%d entries are to be confirmed", len(list))
	}
	w.heal()
	w.judge()
}

// While a device began anew behind a restored server, all jobs were kept from it. Of one that was shown again it took what stood behind a
// held entry that it had not been given, and the server lost both before it could fetch the rest. Cut at each call in turn.
func TestShownAgainBehindARestore(t *testing.T) {
	cutAtEachCall(t, func(w *world, cut line) error {
		d, other := w.devices[0], w.devices[2]
		d.note(jobIDs[0])
		must(d.sync(straight(0)), "exchange")
		must(other.sync(straight(0)), "exchange")
		restoreServer(w, &draws{step: &step{1, 0}})
		w.say(replica.Access{What: replica.AccessJobs, ID: other.person})
		must(other.sync(straight(0)), "exchange")
		strange := straight(0)
		strange.strange = true
		d.note(jobIDs[0])
		_ = d.sync(strange)
		must(other.sync(straight(0)), "exchange")
		d.note(jobIDs[0])
		must(d.sync(straight(0)), "exchange")
		w.say(replica.Access{What: replica.AccessJob, ID: other.person, Job: jobIDs[0], May: true})
		err := other.sync(cut)
		restoreServer(w, &draws{step: &step{1, 0}})
		_ = other.sync(straight(0))
		return err
	})
}

// A disk was copied, and the other copy came first after the server had been restored. The device took another id before it knew of the
// restore, when its photo still had a place; then the place was another's, and the photo's record was laid aside and issued by nobody.
func TestIssuedAgainUnderTheIdBefore(t *testing.T) {
	defer caught(t)
	w := newWorld("", 1)
	w.deep = true
	d := w.devices[0]
	clone(w, &draws{step: &step{0, 1}})
	other := w.devices[3]
	picture(w, &draws{step: &step{0, 1}})
	must(d.sync(straight(0)), "exchange")
	restoreServer(w, &draws{step: &step{1, 0}})
	d.note(jobIDs[0])
	other.note(jobIDs[0])
	must(other.sync(straight(0)), "exchange")
	w.heal()
	w.judge()
	there := 0
	for _, e := range w.store.from(d.id) {
		if word(e.Entry) == "1" {
			there++
		}
	}
	if there != 1 {
		t.Errorf("the photo's record was issued %d times under the id that %s has now", there, d.name)
	}
}

// Of a lane that was lost with its writer, a device that sees one job only has what lies before another job's entry and what lies behind
// it: it offered both in one piece, and the server, which cannot join the second, took neither.
func TestOfferUpToWhatIsNotSeen(t *testing.T) {
	defer caught(t)
	w := newWorld("", 1)
	w.deep = true
	supervisor, writer, narrow := w.devices[0], w.devices[1], w.devices[2]
	w.say(replica.Access{What: replica.AccessJob, ID: narrow.person, Job: jobIDs[1]})
	for _, job := range []string{jobIDs[0], jobIDs[1], jobIDs[0]} {
		writer.note(job)
		must(writer.sync(straight(0)), "exchange")
	}
	must(narrow.sync(straight(0)), "exchange")
	w.devices = []*device{supervisor, narrow}
	restoreServer(w, &draws{step: &step{1, 0}})
	w.heal()
	w.judge()
	j, err := w.servers[0].Job(ctx, company, jobIDs[0])
	must(err, "fold")
	if got := word(*j.Records[len(j.Records)-1].Entry); got != "1" {
		t.Errorf("the last word at the server is %q", got)
	}
}

// cutAtEachCall tells a story that ends with a cut exchange, once for each of its calls.
func cutAtEachCall(t *testing.T, story func(w *world, cut line) error) {
	defer caught(t)
	for n := range 40 {
		w := newWorld("", 1)
		w.deep = true
		cut := straight(1)
		cut.ask = n
		err := story(w, cut)
		w.heal()
		w.judge()
		if err == nil {
			if n < 3 {
				t.Fatalf("the exchange has %d calls", n)
			}
			return
		}
	}
	t.Fatal("the exchange has no end")
}

// caught fails a test with what ended its story.
func caught(t *testing.T) {
	if v := recover(); v != nil {
		t.Fatal(v)
	}
}
