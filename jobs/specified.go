package jobs

import "tacet/acoustics"

// PredictSpecified predicts the partition of a surface as specified, and nothing else: over many jobs the other two
// predictions cost more than they tell.
func (j *Job) PredictSpecified(s *Surface) Forecast { return j.forecast(s, asSpecified) }

// Existing lists the layers that stood there before the work on a surface: those of its structure, else its own.
func (j *Job) Existing(s *Surface) []acoustics.Layer { return j.existing(s) }
