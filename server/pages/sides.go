package pages

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"tacet/acoustics"
	"tacet/jobs"
)

// particulars spell out what one line can't: the layers of a list, the facts of a description. They are what differs between
// the sides of a dispute about one.
func particulars(r *jobs.Record) []string {
	switch d := r.What.(type) {
	case *jobs.Specify:
		return layerNames(d.Specified)
	case *jobs.Respecify:
		return layerNames(d.Specified)
	case *jobs.Describe, *jobs.DescribeRoom, *jobs.DescribeStructure, *jobs.DescribeSurface:
		return facts(r)
	}
	return nil
}

func layerNames(layers []acoustics.Layer) []string {
	names := make([]string, len(layers))
	for i, l := range layers {
		names[i] = fmt.Sprintf("%d %s, %s", i+1, jobs.NameOf(l), massOf(l.MassKgM2()))
	}
	return names
}

// facts are the parts of a record by key, as they were recorded.
func facts(r *jobs.Record) []string {
	b, err := r.EdgeJSON()
	if err != nil {
		return nil
	}
	var parts map[string]json.RawMessage
	if json.Unmarshal(b, &parts) != nil {
		return nil
	}
	delete(parts, "do")
	var out []string
	for _, key := range slices.Sorted(maps.Keys(parts)) {
		text := string(parts[key])
		var s string
		if json.Unmarshal(parts[key], &s) == nil {
			text = s
		}
		out = append(out, spaced(key)+": "+text)
	}
	return out
}
