package store

import (
	"errors"

	"gorm.io/gorm"
)

// Watch has every query that this store makes from now on told to f, as it is written and without its values. For whoever wants to know
// what a database is asked.
func (s *Store) Watch(f func(sql string)) error {
	tell := func(db *gorm.DB) { f(db.Statement.SQL.String()) }
	var errs []error
	for _, db := range []*gorm.DB{s.write, s.read, s.free} {
		if db == nil {
			continue
		}
		c := db.Callback()
		errs = append(errs, c.Create().After("*").Register("tacet:watch", tell), c.Query().After("*").Register("tacet:watch", tell),
			c.Update().After("*").Register("tacet:watch", tell), c.Delete().After("*").Register("tacet:watch", tell),
			c.Row().After("*").Register("tacet:watch", tell), c.Raw().After("*").Register("tacet:watch", tell))
	}
	return errors.Join(errs...)
}
