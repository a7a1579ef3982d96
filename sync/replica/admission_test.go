package replica_test

import (
	"fmt"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
)

func admission(answer string, ids ...string) string {
	return fmt.Sprintf(`{"do":"admission","on":["%s"],"answer":%q,"reason":"the foreman vouches"}`, strings.Join(ids, `","`), answer)
}

// Two records of a person who is not enrolled on the device are held. A supervisor takes one in and refuses the other; every
// replica follows in the same way, the author learns the reason, and a device that comes late sees the same.
func TestSupervisorAnswersWhatIsHeld(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
		a.importHouse()
		a.sync()
		b.sync()
		es := b.record(note("taken in later"), note("never taken in"))
		b.net.persons = map[string]jobs.Role{}
		b.sync()
		b.net.persons = nil
		a.sync()
		kept, err := b.Answerable(ctx, company)
		if err != nil || len(kept) != 2 || kept[0].State != replica.Held || kept[0].Says == "" {
			t.Fatalf("%+v, %v", kept, err)
		}
		if _, err := b.try(admission("admit", es[0].ID)); err == nil {
			t.Error("a site hand admitted a record")
		}
		before := a.settled()
		a.record(admission("admit", es[0].ID), admission("refuse", es[1].ID))
		a.sync()
		b.sync()
		for _, d := range []*device{a, b} {
			j, err := d.Job(ctx, company, jobID)
			if out := export(t, j, err); !strings.Contains(out, "taken in later") || strings.Contains(out, "never taken in") {
				t.Errorf("%s sees %s", d.id, out)
			}
			if len(j.Held()) != 0 {
				t.Errorf("%d are held at %s", len(j.Held()), d.id)
			}
			d.open(company)
		}
		kept, err = b.Answerable(ctx, company)
		if err != nil || len(kept) != 1 || kept[0].State != replica.Refused || kept[0].Says != "the foreman vouches" {
			t.Errorf("%+v, %v", kept, err)
		}
		late := w.join(3, jobs.Site)
		late.sync()
		if a.settled() != b.settled() || a.settled() != w.settled() || late.settled() != a.settled() || a.settled() == before {
			t.Errorf("the replicas hold different jobs: %v %v %v %v", a.settled() == b.settled(), a.settled() == w.settled(), late.settled() == a.settled(), a.settled() == before)
		}
		// a second thought: what was refused may still be taken in, at the desk of the office too
		a.record(note("meanwhile"))
		if _, err := w.server.Record(ctx, company, a.author(), jobID, raws(admission("refuse", es[0].ID))); err == nil {
			t.Error("what stands was refused")
		}
		a.sync()
		if acts, err := w.server.VerifyLog(ctx, company); err != nil || acts != 3+2+2+2+1 {
			t.Errorf("%d acts, %v", acts, err)
		}
	})
}

// Nobody admits a record of their own, even with a program that would let them: the server holds such an answer.
func TestNobodyAdmitsTheirOwn(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a := w.join(1, jobs.Supervisor)
		a.importHouse()
		a.sync()
		e := a.record(note("mine"))[0]
		a.net.persons = map[string]jobs.Role{}
		a.sync()
		a.net.persons = nil
		a.open(company)
		if _, err := a.try(admission("admit", e.ID)); err == nil {
			t.Error("the desk let it pass")
		}
		a.record(admission("refuse", e.ID))
		a.sync()
		states, err := a.States(ctx, company, jobID)
		if err != nil || states[e.ID] != replica.Refused {
			t.Errorf("%v, %v: one's own may be given up", states[e.ID], err)
		}
	})
}
