// Package sync holds no code: it is the map of what lies below, and nothing imports it, so that "sync" in code is
// always the standard library's.
//
//	replica/    the record of one device or server: two doors, Record and Receive, and one corridor behind both;
//	            declares what it needs of a store, a transport, a photo folder
//	store/      replica.Store on SQLite and PostgreSQL, through gorm
//	storetest/  the contract of replica.Store, one suite run on every store
//	wire/       the messages, the HTTP side of replica.Transport, and the one table of errors
//	archive/    a whole job as one file that both sides of a dispute can read and check without this program
//	photo/      pictures: checked, turned, re-encoded without metadata, kept by content hash
//	durable/    the names in a folder, so that they survive a power cut
//	pause/      waiting, until it is time or somebody stops it
//	sim/        schedules of faults, played in one process and judged
//
// How one entry travels: Record puts it in the lane (device, job) and commits; Push seals the lane's head with the
// device's key and sends; Receive, at the server, checks chain, seal and rule, gives the entry the next position in
// the company's log and signs a receipt; Pull hands the log on, from signed cursor to signed cursor.
package sync
