// Package jobs is the domain: a job with its surfaces, what exists, what is specified, what was installed, what was
// checked, and the entries that record all of it.
//
// Whatever anybody records is an [Entry]: two byte strings, written once. A [Job] is what a set of entries makes
// ([Fold], [Job.Add]); the order in which they arrive changes nothing.
//
// The way of one record through the package:
//
//	Compose   one JSON object -> rules -> Draft     compose.go, and the kind's own file: kind_install.go, kind_check.go …
//	NewEntry  Draft + place in a lane -> bytes      entry.go, canonical.go
//	Add       entry -> filed under its subject      fold.go
//	settle    what is filed -> states               settle.go, layer.go, check.go
//
// kind.go is the registry of kinds, check.go that of checks (their texts: checks_*.go); says.go tells a record in one line, name.go a layer, a room and a
// structure in words; sealed.go hides what people said; errors.go and valid.go refuse.
//
// And from the state: masses and loads (layer.go, load.go), screw windows (screws.go), predictions (predict.go), warnings
// (warnings.go), the view that the command line prints (view.go), the canonical export (export.go).
//
// Around the work: enquiry, survey and what it leaves open (kind_enquiry.go, findings.go, flankinglist.go), starting
// build-ups and like surfaces (buildups.go, like.go), targets (targets.go), what the firm records for all jobs (firm.go), the
// quote that freezes a prediction (kind_quote.go), take-off and order (takeoff.go, order.go), questions for others to answer
// (cautions.go).
//
// Of the work: faults as the calculation takes them and what they cost (defect.go, cost.go), faults on their way to being
// accepted (nonconformance.go) by somebody else than whoever did the work (ownwork.go), what waits for the supervisor and
// what is drawn to be looked at (queue.go, sampling.go, kind_firm_rule.go), sign-off with what was not seen
// (kind_sign_off.go), sound tests beside their limits (bands.go, testverdict.go), complaints and asking again
// (complaints.go), all of it as JSON (workview.go).
//
// Nothing here reads a clock, a file or a database.
package jobs
