package store

import (
	"gorm.io/gorm/clause"

	"tacet/sync/replica"
)

type markRow struct {
	Co    string `gorm:"primaryKey"`
	Job   string `gorm:"primaryKey"`
	Total int64
	Rev   int64
	Count int64
	Sum   []byte
	N     int64
}

func (markRow) TableName() string { return "digest" }

func (r markRow) mark() replica.Mark {
	return replica.Mark{Job: r.Job, Total: r.Total, Rev: r.Rev, Count: r.Count, Sum: hash(r.Sum), N: r.N}
}

// Mark reads the state of a job.
func (t *tx) Mark(job string) (replica.Mark, error) {
	var rows []markRow
	if err := t.of().Where("job = ?", job).Limit(1).Find(&rows).Error; err != nil || len(rows) == 0 {
		return replica.Mark{Job: job}, err
	}
	return rows[0].mark(), nil
}

// SetMark writes what the caller owns of a mark; the total belongs to Insert.
func (t *tx) SetMark(m replica.Mark) error {
	return one(t.of().Table("digest").Where("job = ?", m.Job).
		Updates(map[string]any{"rev": m.Rev, "count": m.Count, "sum": m.Sum[:], "n": m.N}))
}

func (t *tx) putMark(m replica.Mark) error {
	row := markRow{Co: t.co, Job: m.Job, Total: m.Total, Rev: m.Rev, Count: m.Count, Sum: m.Sum[:], N: m.N}
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}

// Marks lists the jobs with an act behind a position.
func (t *tx) Marks(afterN int64) ([]replica.Mark, error) {
	var rows []markRow
	if err := t.of().Where("n > ?", afterN).Order("job").Find(&rows).Error; err != nil {
		return nil, err
	}
	return marks(rows), nil
}

func marks(rows []markRow) []replica.Mark {
	ms := make([]replica.Mark, len(rows))
	for i, r := range rows {
		ms[i] = r.mark()
	}
	return ms
}
