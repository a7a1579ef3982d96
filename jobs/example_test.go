package jobs_test

import (
	"fmt"

	"tacet/jobs"
)

// A job file becomes records, the records become entries, and the entries make the job.
func Example() {
	edges, err := jobs.Import([]byte(`{"name":"Lantern Row","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,
	  "specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10},
	               {"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}]}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	job := jobs.NewJob("0197a000-0000-7000-8000-000000000001", "0197a000-0000-7000-8000-000000000002")
	author := jobs.Author{Person: "0197a000-0000-7000-8000-000000000003", Role: jobs.Owner}
	var prev jobs.Hash
	for i, edge := range edges {
		draft, err := jobs.Compose(job, author, edge)
		if err != nil {
			fmt.Println(err)
			return
		}
		entry, err := jobs.NewEntry(jobs.Envelope{
			ID: fmt.Sprintf("0197a000-0000-7000-8000-00000000010%d", i), Co: job.Company, Job: job.ID,
			Dev: "0197a000-0000-7000-8000-000000000004", Seq: int64(i + 1), Run: int64(i + 1), Prev: prev, Clk: jobs.Clock(i + 1),
			By: author.Person, Role: author.Role, Kind: draft.Kind, KV: draft.KV, On: draft.On, Refs: draft.Refs,
		}, draft.Body)
		if err != nil {
			fmt.Println(err)
			return
		}
		entry.Key = draft.Key
		job.Add(entry)
		prev = entry.Hash
	}
	wall := job.Surface("W1")
	fmt.Printf("%s: %.1f kg/m², %.1f mm\n", wall.Code, wall.SpecifiedMass(), wall.ThicknessMM())
	// Output: W1: 35.6 kg/m², 35.3 mm
}
