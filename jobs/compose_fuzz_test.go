package jobs_test

import (
	"errors"
	"strings"
	"testing"

	"tacet/jobs"
)

// Whatever a person gives is recorded or refused in one line, and never half: what is recorded folds to the same job again.
func FuzzCompose(f *testing.F) {
	for _, seed := range []string{
		ask, `{"do":"survey","surface":"C1","finding":"x","known":"guessed","boxes":2}`, `{"do":"flanking","surface":"C1","path":"steel","decision":"leave"}`,
		`{"do":"sign","surface":"C1","name":"x","role":"y","statement":"declined","what":"z","flanking":"steel"}`,
		`{"do":"layer_detail","surface":"C1","layer":3,"edge":{"seal":"tape"},"equals":[{"layer":{"kind":"board","thickness_mm":15,"mass_kg_m2":12.9}}]}`,
		`{"do":"specify","surface":"C1","build_up":"C-A"}`, `{"do":"respecify","surface":"F1","like":"C1","reason":"x"}`,
		`{"do":"quote","surface":"C1","price":1e3,"variation":"x","pays":"firm"}`, `{"do":"caution","structure":"J1","code":"load","answer":"x","decided_by":"y"}`,
		`{"do":"return","material":"x","quantity":1,"unit":"sheet","reason":"wet","to":"waste"}`, `{"do":"room","code":"R1","length_m":4,"width_m":3,"heights_m":[2.5,2.4]}`,
		`{"do":"material","id":"x","name":"x","kinds":["board"],"density_kg_m3":700,"spread":"x","source":"x"}`, `{"do":"takeoff_rules","rules":{"waste":0.2}}`,
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, edge string) {
		d := newDevice(t, 1, jobs.Owner)
		d.start(house)
		before := len(d.own)
		if _, err := d.try(edge); err != nil {
			var input *jobs.InputError
			if !errors.As(err, &input) && !errors.Is(err, jobs.ErrRefused) || strings.ContainsAny(err.Error(), "\r\n") {
				t.Fatalf("%q: %v", edge, err)
			}
			if len(d.own) != before {
				t.Fatalf("%q: refused and recorded", edge)
			}
			return
		}
		v := d.job.View()
		for _, s := range v.Surfaces {
			if s.AddedLoad < 0 || s.SpecifiedMass < 0 {
				t.Fatalf("%q: %+v", edge, s)
			}
		}
		d.job.OrderOf(jobs.FirmOf(d.job))
		if export(t, jobs.Fold(jobID, company, d.own)) != export(t, d.job) {
			t.Fatalf("%q: folds to another job", edge)
		}
	})
}
