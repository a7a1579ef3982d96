package store

import (
	"errors"
	"fmt"

	gosqlite "github.com/glebarez/go-sqlite"
	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/sync/replica"
)

var errNoCompany = errors.New("a query without a company")

// Codes of the databases.
const (
	sqliteBusy = 5
	sqliteFull = 13
	pgFull     = "53100"
)

// busy lists what PostgreSQL says when somebody else holds what is needed, or when it is going down: a later try can
// pass.
var busy = map[string]bool{
	"55P03": true, // lock_timeout
	"40001": true, // serialisation
	"40P01": true, // deadlock
	"25006": true, // a standby, which takes nothing
	"25P03": true, // idle in transaction
	"57P01": true, // shutting down
	"57P02": true, // crash of another connection
	"57P03": true, // starting up
	"53300": true, // too many connections
}

// known says in the sentinels of package replica what the database says in its own codes.
func known(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return jobs.ErrNotFound
	}
	var lite *gosqlite.Error
	if errors.As(err, &lite) {
		switch lite.Code() & 0xff {
		case sqliteBusy:
			return fmt.Errorf("%w: %w", replica.ErrBusy, err)
		case sqliteFull:
			return fmt.Errorf("%w: %w", replica.ErrNoSpace, err)
		}
	}
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		switch {
		case busy[pg.Code]:
			return fmt.Errorf("%w: %w", replica.ErrBusy, err)
		case pg.Code == pgFull:
			return fmt.Errorf("%w: %w", replica.ErrNoSpace, err)
		}
	}
	return err
}
