// Package app is the server as a program: its commands, and the server that they and the client's demo start.
//
// Map: app.go reads the command line; start.go starts a server and stops it; folder.go opens what lies in the data folder; then a file
// for each group of commands: serve.go, people.go (companies, users, codes, devices), care.go (backup, rebuild, verify, doctor,
// healthcheck), restore.go, setup.go (the first company, keys), access.go (who sees which job), aside.go and asideimport.go (what could not enter the record),
// privacy.go (what is held about people). metrics.go serves what is counted; live.go tells what is new; forget.go is the daily look at what is
// over its time; ledger.go keeps what was said about access beside the database and erasures.go
// what was erased, both in a linefile.go; serving.go tells commands where a server listens;
// pages.go is the one place where the pages are hung in.
//
// Every command may run beside a server on the same data: all of them go through the database, and nothing is kept in the memory of a
// server that a command could change behind its back.
package app
