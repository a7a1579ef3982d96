// Package ops is what keeps a server in good order: backup.go writes database and photos into one file while the server runs, restore.go
// takes such a file apart and checks it, health.go asks a running server how it is, doctor.go looks for what is wrong with an installation,
// metrics.go counts for Prometheus, peoplekeys.go keeps the keys of what people said out of backups and in a file of their own, serverkeys.go does so with the keys of the server itself, and tacet.service runs the server under systemd.
package ops
