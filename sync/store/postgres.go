package store

import (
	"context"
	"fmt"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
	"gorm.io/driver/postgres"

	"tacet/migrations"
)

func openPostgres(ctx context.Context, dsn string) (*Store, error) {
	s := &Store{dialect: migrations.Postgres}
	var err error
	if s.free, err = s.openPool(postgres.Open(dsn), 8); err != nil {
		return nil, err
	}
	pool, err := s.free.DB()
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	// several servers that start at once wait for each other, and look again every second, for five minutes
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 300))
	if err != nil {
		s.Close()
		return nil, fmt.Errorf("open database: %w", err)
	}
	if err := migrate(ctx, pool, migrations.Postgres, goose.WithSessionLocker(locker)); err != nil {
		s.Close()
		return nil, known(err)
	}
	if s.write, err = s.openPool(postgres.Open(dsn), 8); err != nil {
		s.Close()
		return nil, err
	}
	if s.read, err = s.openPool(postgres.Open(dsn), 8); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}
