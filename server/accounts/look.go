package accounts

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Look is that somebody looked at what is kept about people, or took some of it away, within one hour.
type Look struct {
	Person string // by id; or the id of a guest
	What   string
	About  string // a job or a person, by id; empty for none
	Times  int64
	Last   time.Time
}

// Note notes that somebody looks at something about people. What was noted in the same hour is counted there, so that the list stays
// one that can be read.
func (a *Accounts) Note(ctx context.Context, co, person, what, about string) error {
	now := a.ms()
	row := lookRow{Co: co, Hour: now / time.Hour.Milliseconds(), Person: person, What: what, About: about, Times: 1, LastMS: now}
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		return tx.Clauses(clause.OnConflict{
			Columns:   []clause.Column{{Name: "co"}, {Name: "hour"}, {Name: "person"}, {Name: "what"}, {Name: "about"}},
			DoUpdates: clause.Assignments(map[string]any{"times": gorm.Expr("account_look.times + 1"), "last_ms": now}),
		}).Create(&row).Error
	})
	if err != nil {
		return fmt.Errorf("note who looked: %w", err)
	}
	return nil
}

// Looks lists who looked, the newest first: at anything, or only what a person did or what was about them, where one is named.
func (a *Accounts) Looks(ctx context.Context, co, person string, most int) ([]Look, error) {
	var rows []lookRow
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		q := a.of(tx, co).Order("last_ms DESC, person, what, about").Limit(most)
		if person != "" {
			q = q.Where("person = ? OR about = ?", person, person)
		}
		return q.Find(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("list who looked: %w", err)
	}
	list := make([]Look, len(rows))
	for i, r := range rows {
		list[i] = Look{Person: r.Person, What: r.What, About: r.About, Times: r.Times, Last: time.UnixMilli(r.LastMS)}
	}
	return list, nil
}

// ForgetLooks forgets who looked before a time, and tells how many lines that are; with try it only counts.
func (a *Accounts) ForgetLooks(ctx context.Context, co string, before time.Time, try bool) (n int64, err error) {
	err = a.write(ctx, co, func(tx *gorm.DB) error {
		q := a.of(tx, co).Model(&lookRow{}).Where("last_ms < ?", before.UnixMilli())
		if try {
			return q.Count(&n).Error
		}
		res := q.Delete(&lookRow{})
		n = res.RowsAffected
		return res.Error
	})
	if err != nil {
		return 0, fmt.Errorf("forget who looked: %w", err)
	}
	return n, nil
}
