package accounts

import (
	"context"
	"fmt"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Kept reads for how many days a company keeps which class, where it is not the default.
func (a *Accounts) Kept(ctx context.Context, co string) (map[string]int, error) {
	var rows []keepRow
	if err := a.read(ctx, co, func(tx *gorm.DB) error { return a.of(tx, co).Find(&rows).Error }); err != nil {
		return nil, fmt.Errorf("read how long is kept: %w", err)
	}
	days := make(map[string]int, len(rows))
	for _, r := range rows {
		days[r.Class] = r.Days
	}
	return days, nil
}

// Keep sets for how many days a company keeps classes.
func (a *Accounts) Keep(ctx context.Context, co string, days map[string]int) error {
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		for class, n := range days {
			row := keepRow{Co: co, Class: class, Days: n}
			if err := tx.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error; err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("set how long is kept: %w", err)
	}
	return nil
}
