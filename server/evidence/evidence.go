// Package evidence gathers what the claims of this program rest on: published values beside what the code makes of them,
// predictions beside what was measured, and what the last runs of the checks counted. All is calculated or read; nothing is
// typed in.
package evidence

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"

	"tacet/acoustics"
	"tacet/jobs/outcomes"
	"tacet/testdata"
)

// Evidence is all of it.
type Evidence struct {
	Published []Published          `json:"published"`
	Families  []acoustics.Accuracy `json:"families"`
	Rows      []acoustics.Specimen `json:"rows"`
	Patterns  []acoustics.Pattern  `json:"patterns"`
	// Contradictions are measured rows that like rows contradict, MassRule masonry and concrete beside the rules for their mass.
	Contradictions []acoustics.Contradiction `json:"contradictions"`
	MassRule       []acoustics.RulePoint     `json:"mass_rule"`
	// WithinU and Within2U of Counted rows lie no further from their prediction than once and twice the uncertainty it claims.
	WithinU  int   `json:"rows_within_u"`
	Within2U int   `json:"rows_within_2u"`
	Counted  int   `json:"rows_counted"`
	Runs     []Run `json:"runs"`
}

// Published are the check values about one thing that is calculated.
type Published struct {
	What   string               `json:"what"`
	Values []acoustics.Verified `json:"values"`
}

// NotMet counts the values that the code does not meet.
func (p Published) NotMet() int {
	n := 0
	for _, v := range p.Values {
		if !v.OK {
			n++
		}
	}
	return n
}

// Run is what one step of a run of the checks came to.
type Run struct {
	Kind    string  `json:"kind"` // ci: every change; deep: before a release
	Step    string  `json:"step"`
	Result  string  `json:"result"`
	Says    string  `json:"says"`
	Commit  string  `json:"commit"`
	Date    string  `json:"date"` // RFC 3339
	Seconds int     `json:"seconds"`
	Counts  []Count `json:"counts,omitempty"`
}

// Count is what one test says that it has tried.
type Count struct {
	Test string `json:"test"`
	Says string `json:"says"`
}

// Gather calculates and reads everything, once.
var Gather = sync.OnceValues(func() (Evidence, error) { return gather(testdata.Files) })

func gather(fsys fs.FS) (Evidence, error) {
	var e Evidence
	values, err := acoustics.Verify(fsys)
	if err != nil {
		return e, err
	}
	statistics, err := outcomes.Verify(fsys)
	if err != nil {
		return e, err
	}
	for _, v := range slices.Concat(values, statistics) {
		i := slices.IndexFunc(e.Published, func(p Published) bool { return p.What == v.What })
		if i < 0 {
			i = len(e.Published)
			e.Published = append(e.Published, Published{What: v.What})
		}
		e.Published[i].Values = append(e.Published[i].Values, v)
	}
	slices.SortFunc(e.Published, func(a, b Published) int { return strings.Compare(a.What, b.What) })
	if e.Families, e.Rows, err = acoustics.Validate(fsys); err != nil {
		return e, err
	}
	e.WithinU, e.Within2U, e.Counted = acoustics.Coverage(e.Rows)
	if e.Patterns, err = acoustics.Patterns(); err != nil {
		return e, err
	}
	if e.Contradictions, err = acoustics.Contradictions(e.Rows); err != nil {
		return e, err
	}
	if e.MassRule, err = acoustics.MassRulePoints(); err != nil {
		return e, err
	}
	e.Runs, err = runs(fsys)
	return e, err
}

// Values are all published values, in the order of what they are about.
func (e Evidence) Values() (all []acoustics.Verified) {
	for _, p := range e.Published {
		all = append(all, p.Values...)
	}
	return all
}

// NotMet counts the published values that the code does not meet.
func (e Evidence) NotMet() (n int) {
	for _, p := range e.Published {
		n += p.NotMet()
	}
	return n
}

// runs reads the files that the checks write about themselves.
func runs(fsys fs.FS) ([]Run, error) {
	files, err := fs.Glob(fsys, "evidence/*.json")
	if err != nil {
		return nil, fmt.Errorf("list evidence: %w", err)
	}
	var all []Run
	for _, name := range files {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("read evidence: %w", err)
		}
		steps := map[string]Run{}
		if err := json.Unmarshal(data, &steps); err != nil {
			return nil, fmt.Errorf("read evidence: %s: %w", name, err)
		}
		for step, r := range steps {
			r.Kind, r.Step = strings.TrimSuffix(path.Base(name), ".json"), step
			all = append(all, r)
		}
	}
	slices.SortFunc(all, func(a, b Run) int { return strings.Compare(a.Kind+" "+a.Step, b.Kind+" "+b.Step) })
	return all, nil
}
