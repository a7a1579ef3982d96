package pagestest

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"tacet/jobs"
)

// Families of build-ups that the invented firm built over the years, the most frequent first.
var years = []struct {
	surface, letter string
	target          int     // dB, the lowest asked for
	truth           float64 // what it does beyond what is predicted, dB
	often           int     // jobs of ten
}{
	{`"kind":"wall","width_m":4,"height_m":2.5,"existing":[{"kind":"masonry","thickness_mm":215,"mass_kg_m2":375,"material":"brick"}],"specified":[` + cavity(65, "independent", "") + `,` + board + `,` + board + `]`, "W", 51, -2.5, 4},
	{`"kind":"wall","width_m":4,"height_m":2.5,"existing":[{"kind":"masonry","thickness_mm":102.5,"mass_kg_m2":180,"material":"brick"}],"specified":[` + cavity(30, "none", "clip") + `,` + board + `,` + membrane + `,` + board + `]`, "W", 46, 0.3, 3},
	{`"kind":"ceiling","width_m":4,"height_m":3.6,"existing":[{"kind":"cavity","depth_mm":175,"frame":{"kind":"joist","spacing_mm":400,"mass_kg_m2":10}},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":11}],"specified":[` + cavity(25, "none", "clip") + `,` + board + `,` + board + `]`, "C", 46, 0.8, 2},
	{`"kind":"ceiling","width_m":4,"height_m":3.6,"existing":[{"kind":"cavity","depth_mm":175,"frame":{"kind":"joist","spacing_mm":400,"mass_kg_m2":10}},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":11}],"specified":[` + cavity(16, "none", "bar") + `,` + board + `,` + board + `]`, "C", 46, -1, 1},
}

const (
	board    = `{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6,"material":"plasterboard_dense"}`
	membrane = `{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5,"material":"limp_membrane"}`
)

func cavity(depth int, frame, resilient string) string {
	spec := fmt.Sprintf(`"kind":"%s","spacing_mm":400,"mass_kg_m2":1`, frame)
	if resilient != "" {
		spec += fmt.Sprintf(`,"resilient":"%s"`, resilient)
	}
	return fmt.Sprintf(`{"kind":"cavity","depth_mm":%d,"fill":{"thickness_mm":%d,"density_kg_m3":45},"frame":{%s}}`, depth, min(50, depth), spec)
}

// Years plays n finished jobs of the years before, two surfaces of one build-up each: quoted, built by six fitters, checked, a third
// of them tested, asked afterwards or never heard of. More was complained of where perimeters were open, where skirting was
// fixed to both sides, and where work on a way round was declined. All of it is invented; the seed makes it the same each time.
func (w *World) Years(n int) {
	w.t.Helper()
	r := rand.New(rand.NewPCG(63, 1))
	end, photo := w.Now, w.Photo()
	for i := range n {
		w.mu.Lock()
		w.Now = time.Date(2023, 2, 6, 8, 0, 0, 0, time.UTC).AddDate(0, 0, i*1300/n)
		w.mu.Unlock()
		w.pastJob(r, i, photo)
	}
	w.mu.Lock()
	w.Now = end
	w.mu.Unlock()
}

// YearsJob is the id of the nth job that Years plays.
func YearsJob(n int) string { return fmt.Sprintf("018f0000-0000-7000-8000-0000000f%04d", n) }

// pastJob plays one of them.
func (w *World) pastJob(r *rand.Rand, i int, photo string) {
	w.t.Helper()
	kind, pick := 0, r.IntN(10)
	for pick >= years[kind].often {
		pick -= years[kind].often
		kind++
	}
	family, id := years[kind], YearsJob(i)
	codes := []string{family.letter + "1", family.letter + "2"}
	target := family.target + r.IntN(12)
	w.ImportJSON(id, fmt.Appendf(nil, `{"name":"%d Saltgate Lane, %s","site":"Marlsea, invented","targets":[{"quantity":"dntw_ctr","value_db":%d,"source":"invented"}],
		"rooms":[{"code":"R1","name":"front room","volume_m3":35}],"surfaces":[{"code":"%s","room":"R1","flanking":[],%s},{"code":"%s","room":"R1","flanking":[],%s}]}`,
		i+1, []string{"front room", "bedroom", "upper flat"}[i%3], target, codes[0], family.surface, codes[1], family.surface))
	start := w.Now
	// what is done on a day is recorded on that day: nobody may record work that lies ahead
	on := func(days int) string {
		day := start.AddDate(0, 0, days)
		if day.After(w.Now) {
			w.Now = day
		}
		return day.Format(time.RFC3339)
	}
	before := 5 + r.IntN(5)
	edges := []string{fmt.Sprintf(`{"do":"baseline","answers":{"voices":%d,"footsteps":%d},"at":"%s"}`, before, 4+r.IntN(6), on(0)), fmt.Sprintf(`{"do":"quote","price":3000,"currency":"GBP","at":"%s"}`, on(0))}
	declined := r.Float64() < 0.25
	if declined {
		edges = append(edges, fmt.Sprintf(`{"do":"sign","name":"the client (invented)","role":"client","statement":"declined","what":"lining the return wall","at":"%s"}`, on(0)))
	}
	w.Record(Maren, jobs.Supervisor, id, edges...)

	odds := 0.14
	if declined {
		odds += 0.15
	}
	odds += w.pastWork(r, id, photo, i, codes, on)
	edges = nil
	predicted := w.JobAs(id).PredictSpecified(w.JobAs(id).Surface(codes[0])).DnTwCtrDB
	if predicted == nil {
		w.t.Fatalf("job %d has no prediction", i)
	}
	if r.Float64() < 0.35 || kind == 3 {
		edges = append(edges, fmt.Sprintf(`{"do":"sound_test","quantity":"dntw_ctr","value_db":%.0f,"source_room":"next door","receiving_room":"front room","surfaces":["%s"],"body":"an invented tester","at":"%s"}`,
			*predicted+family.truth+2*r.NormFloat64(), codes[0], on(14)))
	}
	edges = append(edges, fmt.Sprintf(`{"do":"sign","name":"the client (invented)","role":"client","statement":"accepted","what":"the work","at":"%s"}`, on(12)))
	trouble := r.Float64() < odds
	for _, month := range []int{1, 3, 12} {
		if r.Float64() < 0.35 || trouble && month > 1 {
			continue
		}
		edges = append(edges, fmt.Sprintf(`{"do":"follow_up","month":%d,"answers":{"voices":%d,"footsteps":%d},"at":"%s"}`, month, max(0, before-3-r.IntN(4)), 1+r.IntN(5), on(12+30*month)))
	}
	if !trouble {
		w.Record(Maren, jobs.Supervisor, id, edges...)
		return
	}
	edges = append(edges, fmt.Sprintf(`{"do":"complaint","words":"still there at night (invented)","kind":"%s","received":"%s","surface":"%s"}`, []string{"voices", "footsteps", "bass"}[r.IntN(3)], on(30 + r.IntN(200))[:10], codes[0]))
	es := w.Record(Maren, jobs.Supervisor, id, edges...)
	over := es[len(es)-1].ID
	switch r.IntN(3) {
	case 0:
		w.Record(Maren, jobs.Supervisor, id, fmt.Sprintf(`{"do":"outcome","over":"%s","outcome":"ours_put_right","cause":"not_built_as_specified","confidence":"opened"}`, over),
			fmt.Sprintf(`{"do":"put_right","over":"%s","cause":"haste","hours":%d,"cost":%d}`, over, 2+r.IntN(8), 80+r.IntN(300)))
	case 1:
		w.Record(Maren, jobs.Supervisor, id, fmt.Sprintf(`{"do":"outcome","over":"%s","outcome":"not_our_element","cause":"flanking_missed","confidence":"tested"}`, over))
	}
}

// pastWork builds and checks the surfaces and returns what the faults add to the odds of a complaint.
func (w *World) pastWork(r *rand.Rand, id, photo string, i int, codes []string, on func(int) string) (odds float64) {
	fitter := i % 4
	if i >= 40 {
		fitter = i % 6 // two new ones
	}
	first := i < 6 || i >= 40 && i < 52 && fitter >= 4
	fault := func(check string) float64 {
		switch {
		case check == "K19":
			return 0
		case (check == "K23" || check == "K28") && first:
			return 0.8
		case check == "K23" || check == "K28":
			return 0.12
		case check == "K30" && i%4 == 1:
			return 0.8
		}
		return 0.01
	}
	j := w.JobAs(id)
	for _, code := range codes {
		s := j.Surface(code)
		for _, l := range s.Layers {
			day := on(1 + l.N)
			edges := []string{fmt.Sprintf(`{"do":"install","surface":"%s","layer":%d,"share":1,"by":"fitter %d","at":"%s"}`, code, l.N, fitter+1, day)}
			for _, c := range s.Checks {
				whole := c.Layer == 0 && l.N == len(s.Layers)
				if !whole && c.Layer != l.N || c.Rule.Code != "K19" && r.Float64() < 0.12 {
					continue
				}
				edge := map[string]any{"do": "check", "surface": code, "layer": c.Layer, "check": c.Rule.Code, "result": "pass", "evidence": 1 + r.IntN(3), "at": day}
				if r.IntN(3) > 0 {
					edge["photos"] = []string{photo}
				}
				if r.Float64() < fault(c.Rule.Code) {
					edge["result"] = "fail"
					odds += map[string]float64{"K30": 0.8, "K23": 0.12, "K28": 0.12}[c.Rule.Code]
				}
				b, err := json.Marshal(edge)
				w.must(err)
				edges = append(edges, string(b))
			}
			w.Record([]string{Idris, Pavo}[fitter%2], jobs.Site, id, slices.Clip(edges)...)
		}
	}
	return odds
}
