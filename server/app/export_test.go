package app

import (
	"github.com/gofiber/fiber/v2"

	"tacet/server/api"
)

// DropTable breaks the database of a server, for tests of what it says then.
func (r *Running) DropTable(name string) error {
	return r.house.store.DB().Exec("DROP TABLE " + name).Error
}

// Tamper changes a measured mass in the database behind the server's back, as somebody with access to the file could.
func (r *Running) Tamper() error {
	db := r.house.store.DB()
	if err := db.Exec("DROP TRIGGER IF EXISTS entry_no_change").Error; err != nil {
		return err
	}
	return db.Exec("UPDATE entry SET body = CAST(replace(CAST(body AS TEXT), '12.6', '12.8') AS BLOB) WHERE kind = 'install'").Error
}

// Routes lists what the server serves, middleware left out.
func (r *Running) Routes() []fiber.Route { return r.server.App.GetRoutes(true) }

// Rules is the table of the protocol's routes.
func (r *Running) Rules() []api.Rule { return r.server.Rules() }

// Query runs SQL behind the server's back.
func (r *Running) Query(sql string, to any) error {
	return r.house.store.DB().Raw(sql).Scan(to).Error
}

// Watch has every query of the server's database told to f.
func (r *Running) Watch(f func(sql string)) { r.house.store.Watch(f) }
