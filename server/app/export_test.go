package app

// DropTable breaks the database of a server, for tests of what it says then.
func (r *Running) DropTable(name string) error {
	return r.house.store.DB().Exec("DROP TABLE " + name).Error
}
