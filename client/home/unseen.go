package home

import (
	"fmt"

	"tacet/jobs"
)

// CoveredUnseen lists in plain words the layers that are covered unseen in after and were not in before.
func CoveredUnseen(before, after *jobs.Job) []string {
	var said []string
	for _, s := range after.Surfaces {
		for _, l := range s.Layers {
			if !l.CoveredUnseen {
				continue
			}
			if old := before.Surface(s.Code); old != nil && old.Layer(l.N) != nil && old.Layer(l.N).CoveredUnseen {
				continue
			}
			said = append(said, fmt.Sprintf("%s: Layer %d was covered before it was seen. Recorded; the prediction is less certain.", s.Code, l.N))
		}
	}
	return said
}
