// Package store keeps the record in SQLite or PostgreSQL, through gorm. It implements replica.Store; its row structs
// never leave it.
//
//	open.go      which database, migrations, the pools
//	sqlite.go    the embedded default: one file, WAL, every commit synced
//	postgres.go  several servers on one database
//	errors.go    what the databases say, as the sentinels of package replica
//	tx.go        transactions, and the one helper that ties a query to a company
//	log.go entry.go mark.go device.go seal.go photo.go me.go view.go access.go aside.go key.go   the tables; bulk.go many rows in one INSERT
//	explain.go   errors.go for the packages that use the same database; watch.go shows tests every query
//
// gorm is used with care: a zero value in a struct is skipped by updates and filters, so updates name their columns
// and filters are written out; rows go in by the hundred, which is faster than by the thousand.
package store
