// Package replica is the record of one device or one server. Both programs use the same type: a client holds one
// company and exchanges with its server, a server gives positions to what arrives. There are two doors, Record for
// what a person does here and Receive for what a device sends, and one corridor behind both: lane, store, fold.
//
//	replica.go   Config and New; who this replica is
//	record.go    the first door, and how an entry gets its place in a lane (lane.go)
//	receive.go   the second door: chain, seal, rule (judge.go), position (position.go)
//	serve.go     the server's side of a pull, and what it has of a device
//	push.go pull.go sync.go   the client's side (budget.go: how much at a time)
//	job.go view.go   the fold, cached, and the tables made from it
//	photos.go    pictures that entries name; pieces.go how they travel; quota.go how many a server keeps
//	access.go    who may what, as the server said it; sight.go what a device sees; arrive.go how a job comes that was given late
//	startover.go the server was restored from an older state: ladder.go where to go on, displaced.go what stood and stands no more, offer.go what others wrote
//	restore.go   an entry out of the store; cores.go checks many at a time
//	succeed.go   a device that goes on under a new id
//	asidefile.go what could not be sent, as one file
//	erase.go     throws keys away
//	rejoin.go    a home that worked alone joins a company
//	verify.go    chain, bodies, seals, receipts, log: checked against the bytes
//	seal.go      what is signed: seal, receipt, cursor, and the log's own chain
//	store.go exchange.go errors.go   what the replica needs and says
package replica
