// Package migrations holds the database schema as versioned SQL, one folder for each dialect. Both programs use the
// same schema: a client holds its own home and, after enrolment, what it has pulled; a server holds many companies.
// Every primary key begins with the company.
package migrations

import (
	"embed"
	"io/fs"
)

//go:embed sqlite/*.sql postgres/*.sql
var files embed.FS

// Dialects of the schema.
const (
	SQLite   = "sqlite"
	Postgres = "postgres"
)

// For gives the migrations of one dialect.
func For(dialect string) (fs.FS, error) { return fs.Sub(files, dialect) }
