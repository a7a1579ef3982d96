// Package outcomes says what a firm's build-ups really did, over all its jobs, with small numbers treated as small.
//
// A share is never given below five jobs and never without its interval; what nobody followed up stays unknown and is shown
// as such; predictions are compared with measured values of the same quantity only; and nothing here claims a cause.
//
// The statistics, one file each, know nothing of jobs:
//
//	rate.go interval.go     a share, or none where there are too few jobs; from where to where something lies
//	wilson.go exact.go      intervals of a share; difference.go that of two shares
//	mean.go paired.go       Student intervals of a mean and of paired differences
//	drift.go residual.go    a slope over time; normal scores
//	kaplanmeier.go          share without an event over time, with censoring
//	firth.go profile.go     logistic regression that stays finite, and its intervals
//	brier.go calibration.go how good probabilities were
//	pooling.go              means of many families, pooled in part
//
// Then from the jobs:
//
//	collect.go family.go    one job -> Facts (facts.go), with standing.go how it stands, quote.go what was promised, quantity.go which way is better
//	book.go                 Facts -> Book, kept up to date one job at a time
//	tally.go grouping.go    what is counted of jobs one at a time, and by levels
//	summary.go              Book -> Summary, with familysummary.go, drivers.go, process.go, beforeafter.go, reviewrule.go
//	correction.go csv.go    what the firm's own jobs make of a new prediction; the summary and the facts as CSV
//	published.go            published values of statistics beside the code
package outcomes
