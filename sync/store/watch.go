package store

import (
	"errors"
	"sync/atomic"

	"gorm.io/gorm"
)

// watcher is told of queries while somebody watches.
type watcher struct {
	tell atomic.Pointer[func(sql string)]
}

// Watch has every query that this store makes from now on told to f, as it is written and without its values. For whoever wants to know
// what a database is asked. It may begin while the store is at work.
func (s *Store) Watch(f func(sql string)) { s.watcher.tell.Store(&f) }

// on has every query through that pool told. A pool's callbacks may not change once it is in use, so they are there from the start;
// a log of gorm would be told of values too.
func (w *watcher) on(pool *gorm.DB) error {
	seen := func(db *gorm.DB) {
		if f := w.tell.Load(); f != nil {
			(*f)(db.Statement.SQL.String())
		}
	}
	c := pool.Callback()
	return errors.Join(c.Create().After("*").Register("tacet:watch", seen), c.Query().After("*").Register("tacet:watch", seen),
		c.Update().After("*").Register("tacet:watch", seen), c.Delete().After("*").Register("tacet:watch", seen),
		c.Row().After("*").Register("tacet:watch", seen), c.Raw().After("*").Register("tacet:watch", seen))
}
