package store

import (
	"context"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

// keyRow is the key of what is sealed in the body of an entry; a row without one is what is left of a key that was thrown
// away, and keeps it from coming back. The table stands apart, so that a backup of the record can go without it.
type keyRow struct {
	Co  string `gorm:"primaryKey"`
	H   []byte `gorm:"primaryKey"`
	Key []byte
}

func (keyRow) TableName() string { return "entry_key" }

// keyOf reads the key with a row of a table that has a company and a hash.
func keyOf(table string) string {
	return "(SELECT k.key FROM entry_key k WHERE k.co = " + table + ".co AND k.h = " + table + ".h) AS key"
}

// whole reads entries with their keys.
func (t *tx) whole() *gorm.DB { return t.of().Select("entry.*, " + keyOf("entry")) }

var keyColumns = []string{"co", "h", "key"}

// putKeys keeps the keys that came with entries. What is there stays: a key that was thrown away does not come back.
func (t *tx) putKeys(keys []keyRow) error {
	rows := bulk{table: "entry_key", columns: keyColumns, values: make([]any, 0, len(keys)*len(keyColumns)), tail: " ON CONFLICT DO NOTHING"}
	for _, k := range keys {
		rows.values = append(rows.values, t.co, k.H, k.Key)
	}
	return t.insert(rows)
}

// DropKey throws a key away.
func (t *tx) DropKey(h jobs.Hash) error {
	return t.db.Clauses(clause.OnConflict{Columns: []clause.Column{{Name: "co"}, {Name: "h"}}, DoUpdates: clause.Assignments(map[string]any{"key": nil})}).
		Create(&keyRow{Co: t.co, H: h[:]}).Error
}

// Erased lists the entries of a company whose keys were thrown away.
func (s *Store) Erased(ctx context.Context, co string) (list []jobs.Hash, err error) {
	err = s.Read(ctx, co, func(t replica.Tx) error {
		var rows []keyRow
		if err := t.(*tx).of().Where("key IS NULL").Order("h").Find(&rows).Error; err != nil {
			return err
		}
		for _, r := range rows {
			list = append(list, jobs.Hash(r.H))
		}
		return nil
	})
	return list, err
}
