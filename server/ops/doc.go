// Package ops is what keeps a server in good order: backup.go writes database and photos into one file while the server runs, health.go
// asks a running server how it is, doctor.go looks for what is wrong with an installation.
package ops
