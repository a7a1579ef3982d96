package jobs_test

import (
	"strings"
	"testing"

	"tacet/jobs"
)

func cautionOf(d *device, surface, code string) *jobs.CautionState {
	for _, c := range d.job.Cautions(d.job.Surface(surface)) {
		if c.Code == code {
			return &c
		}
	}
	return nil
}

// Which questions arise where. The thresholds are our own, except asbestos before 2000 (guidance, second hand).
func TestCautionsArise(t *testing.T) {
	light := `{"kind":"board","thickness_mm":12.5,"mass_kg_m2":6}`          // 1.2 x 2.4 x 6 = 17.3 kg a sheet
	heavy := `{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}`         // 36.3 kg
	two := heavy + "," + heavy                                              // 25.2 x 0.00981 = 0.247 kN/m²
	three := two + `,{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5}` // 30.2 x 0.00981 = 0.296 kN/m²
	for _, c := range []struct {
		name, surface, extra string
		edges                []string
		want                 string // codes, in order
	}{
		{"light ceiling of a new building", `"kind":"ceiling","specified":[` + light + `]`, "", []string{`{"do":"survey","finding":"x","known":"seen","built_year":2015}`}, "fire ventilation"},
		{"the year is not known", `"kind":"ceiling","specified":[` + light + `]`, "", nil, "fire asbestos ventilation"},
		{"old building", `"kind":"ceiling","specified":[` + light + `]`, "", []string{`{"do":"enquiry","asks":"occupier","words":"x","built_year":1890}`}, "fire asbestos ventilation"},
		{"heavy boards overhead, just under the load", `"kind":"ceiling","specified":[` + two + `]`, "", nil, "fire asbestos ventilation handling"},
		{"over the load", `"kind":"ceiling","specified":[` + three + `]`, "", nil, "load fire asbestos ventilation handling"},
		{"the same on a wall", `"kind":"wall","specified":[` + three + `]`, "", nil, "fire asbestos ventilation"},
		{"a wall with an agreed limit", `"kind":"wall","load_limit_kn_m2":5,"specified":[` + light + `]`, "", nil, "load fire asbestos ventilation"},
		{"a light ceiling on joists that were guessed", `"kind":"ceiling","specified":[` + light + `]`, "", []string{`{"do":"survey","category":"structure","finding":"joists","known":"guessed"}`}, "load fire asbestos ventilation"},
		{"inner wall", `"kind":"wall","specified":[` + light + `]`, `"targets":[{"quantity":"rw","value_db":40,"source":"x"}],`, nil, "asbestos ventilation"},
		{"wool", `"kind":"wall","specified":[{"kind":"cavity","depth_mm":50,"fill":{"thickness_mm":50,"density_kg_m3":45}}]`, "", nil, "fire asbestos electrics"},
		{"a socket", `"kind":"wall","specified":[` + light + `]`, "", []string{`{"do":"survey","surface":"S1","category":"service","finding":"double socket","known":"seen","boxes":1}`}, "fire asbestos electrics ventilation"},
		{"nothing specified", `"kind":"wall"`, "", nil, "asbestos"},
	} {
		d := newDevice(t, 1, jobs.Owner)
		d.start(`{"name":"x",` + c.extra + `"surfaces":[{"code":"S1","width_m":4,"height_m":3,` + c.surface + `}]}`)
		d.start2(c.edges...)
		var codes []string
		for _, q := range d.job.Cautions(d.job.Surface("S1")) {
			codes = append(codes, q.Code)
			if !q.Open || q.Why == "" || q.Who == "" {
				t.Errorf("%s: %+v", c.name, q)
			}
		}
		if got := strings.Join(codes, " "); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// The engineer's question stays open until it is answered by name, and asks again when the load grows.
func TestLoadIsAskedUntilAnswered(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	c := cautionOf(d, "C1", jobs.CautionLoad)
	if c == nil || !c.Open || !strings.Contains(c.Why, "0.64 kN/m² are added on J1") { // (36.7 + 28.3) x 0.00981 = 0.64, arithmetic
		t.Fatalf("%+v", c)
	}
	d.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	d.record(`{"do":"caution","code":"fire","answer":"30 minutes, tested system","decided_by":"the fire engineer"}`)
	if c := cautionOf(d, "C1", jobs.CautionLoad); !c.Open {
		t.Fatal("answered by work or by another answer")
	}
	if _, err := d.try(`{"do":"caution","code":"load","answer":"fine","decided_by":""}`); err == nil {
		t.Error("answered by nobody")
	}
	if _, err := d.try(`{"do":"caution","code":"load","answer":"fine","decided_by":"x","load_kn_m2":9}`); err == nil {
		t.Error("the load of an answer was typed in")
	}
	e := d.record(`{"do":"caution","structure":"J1","code":"load","answer":"letter SE-114: up to 0.70 kN/m² added","decided_by":"the structural engineer"}`)
	for _, code := range []string{"C1", "F1"} {
		if c := cautionOf(d, code, jobs.CautionLoad); c.Open || c.DecidedBy != "the structural engineer" || c.Entry != e.ID {
			t.Errorf("%s: %+v", code, c)
		}
	}
	d.record(`{"do":"respecify","surface":"F1","reason":"stone wanted","specified":[{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":17.3}]}`)
	c = cautionOf(d, "C1", jobs.CautionLoad)
	if !c.Open || !strings.Contains(c.Again, "answered for 0.64 kN/m², the load is 0.69 kN/m² now") || c.Answer == "" { // (36.7 + 33.3) x 0.00981 = 0.69
		t.Errorf("the load grew: %+v", c)
	}
	if n := len(d.job.OpenCautions()); n == 0 {
		t.Error("nothing open on the job")
	}
	d.record(`{"do":"withdraw","over":"` + e.ID + `","reason":"letter withdrawn"}`)
	if c := cautionOf(d, "F1", jobs.CautionLoad); !c.Open || c.Answer != "" {
		t.Errorf("withdrawn: %+v", c)
	}
	// An answer for one surface is none for another.
	d.record(`{"do":"caution","surface":"C1","code":"asbestos","answer":"sampled clear, report 7","decided_by":"the surveyor"}`)
	if cautionOf(d, "C1", jobs.CautionAsbestos).Open || !cautionOf(d, "F1", jobs.CautionAsbestos).Open {
		t.Error("an answer for C1 must answer for C1 alone")
	}
}

// Nothing the program says of a caution passes judgement.
func TestCautionsJudgeNothing(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	for _, s := range d.job.Surfaces {
		for _, c := range d.job.Cautions(s) {
			for _, word := range []string{"fine", "safe to", "ok", "no problem", "within limits", "acceptable"} {
				if strings.Contains(" "+strings.ToLower(c.Asks+" "+c.Why+" "+c.Again)+" ", " "+word+" ") {
					t.Errorf("%s %s: %q says %q", s.Code, c.Code, c.Why, word)
				}
			}
		}
	}
}
