package accounts

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Keeping is for how long a class is kept, where that is not the default, and who ordered that it then goes by itself.
type Keeping struct {
	Days   int
	Person string // empty: nobody
}

// Kept reads how a company keeps which class, where it said so.
func (a *Accounts) Kept(ctx context.Context, co string) (map[string]Keeping, error) {
	var rows []keepRow
	if err := a.read(ctx, co, func(tx *gorm.DB) error { return a.of(tx, co).Find(&rows).Error }); err != nil {
		return nil, fmt.Errorf("read how long is kept: %w", err)
	}
	kept := make(map[string]Keeping, len(rows))
	for _, r := range rows {
		kept[r.Class] = Keeping{r.Days, r.Person}
	}
	return kept, nil
}

// Keep sets how a company keeps classes.
func (a *Accounts) Keep(ctx context.Context, co string, kept map[string]Keeping) error {
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		for class, k := range kept {
			row := keepRow{Co: co, Class: class, Days: k.Days, Person: k.Person}
			set := clause.OnConflict{Columns: []clause.Column{{Name: "co"}, {Name: "class"}}, DoUpdates: clause.AssignmentColumns([]string{"days", "person"})}
			if err := tx.Clauses(set).Create(&row).Error; err != nil {
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

// Turn tells whether what is over its time of a class is still to be erased on the day of now, and takes that upon the caller: of several
// servers one does it, once a day.
func (a *Accounts) Turn(ctx context.Context, co, class string, now time.Time) (mine bool, err error) {
	day := now.Unix() / int64((24 * time.Hour).Seconds())
	err = a.write(ctx, co, func(tx *gorm.DB) error {
		res := a.of(tx, co).Model(&keepRow{}).Where("class = ? AND person <> '' AND day < ?", class, day).Update("day", day)
		mine = res.RowsAffected == 1
		return res.Error
	})
	if err != nil {
		return false, fmt.Errorf("take the turn of a day: %w", err)
	}
	return mine, nil
}
