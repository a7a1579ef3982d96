package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"

	"github.com/jackc/pgx/v5/pgconn"

	"tacet/sync/replica"
)

// Explain says in the sentinels of package replica what went wrong with the database, for the packages that use DB:
// busy, full, or out of reach for now, which a later try may find mended. Any other error stays as it is.
func Explain(err error) error {
	if err == nil || errors.Is(err, replica.ErrBusy) || errors.Is(err, replica.ErrNoSpace) {
		return err
	}
	var connect *pgconn.ConnectError
	var op *net.OpError
	if errors.As(err, &connect) || errors.As(err, &op) || errors.Is(err, driver.ErrBadConn) || errors.Is(err, io.ErrUnexpectedEOF) ||
		pgconn.SafeToRetry(err) || errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("%w: %w", replica.ErrBusy, err)
	}
	return known(err)
}
