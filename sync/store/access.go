package store

import (
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type accessRow struct {
	Co   string `gorm:"primaryKey"`
	What string `gorm:"primaryKey"`
	ID   string `gorm:"primaryKey;column:id"`
	Job  string `gorm:"primaryKey"`
	May  int
	At   int64
	Sig  []byte
}

func (accessRow) TableName() string { return "access" }

// Access lists what was said about who may what.
func (t *tx) Access() ([]replica.Access, error) {
	var rows []accessRow
	if err := t.of().Order("what, id, job").Find(&rows).Error; err != nil {
		return nil, err
	}
	list := make([]replica.Access, len(rows))
	for i, r := range rows {
		list[i] = replica.Access{Co: r.Co, What: r.What, ID: r.ID, Job: r.Job, May: r.May == 1, At: r.At, Sig: r.Sig}
	}
	return list, nil
}

// PutAccess keeps what was said, in place of what was said before of the same.
func (t *tx) PutAccess(list []replica.Access) error {
	if len(list) == 0 {
		return nil
	}
	rows := make([]accessRow, len(list))
	for i, a := range list {
		rows[i] = accessRow{Co: t.co, What: a.What, ID: a.ID, Job: a.Job, May: bit(a.May), At: a.At, Sig: a.Sig}
	}
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).CreateInBatches(rows, batch).Error
}

// First reads the entry that came first in a job.
func (t *tx) First(job string) (replica.Stored, error) {
	var rows []entryRow
	if err := t.of().Where("job = ?", job).Order("pos").Limit(1).Find(&rows).Error; err != nil {
		return replica.Stored{}, err
	}
	if len(rows) == 0 {
		return replica.Stored{}, jobs.ErrNotFound
	}
	return rows[0].stored()
}

type sightRow struct {
	Co    string `gorm:"primaryKey"`
	Job   string `gorm:"primaryKey"`
	State string
	Upto  int64
	Goal  int64
	Have  int64
	Of    int64
}

func (sightRow) TableName() string { return "sight" }

// Parts lists the jobs of which not everything is here.
func (t *tx) Parts() ([]replica.Part, error) {
	var rows []sightRow
	if err := t.of().Order("job").Find(&rows).Error; err != nil {
		return nil, err
	}
	list := make([]replica.Part, len(rows))
	for i, r := range rows {
		list[i] = replica.Part{Job: r.Job, State: r.State, Upto: r.Upto, Goal: r.Goal, Have: r.Have, Of: r.Of}
	}
	return list, nil
}

// PutPart writes how far a job is here.
func (t *tx) PutPart(p replica.Part) error {
	row := sightRow{Co: t.co, Job: p.Job, State: p.State, Upto: p.Upto, Goal: p.Goal, Have: p.Have, Of: p.Of}
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}

// DropPart says that a job is here whole.
func (t *tx) DropPart(job string) error {
	return t.of().Where("job = ?", job).Delete(&sightRow{}).Error
}

type arrivingRow struct {
	Co   string `gorm:"primaryKey"`
	Job  string `gorm:"primaryKey"`
	N    int64  `gorm:"primaryKey;autoIncrement:false"`
	Page []byte
}

func (arrivingRow) TableName() string { return "arriving" }

// PutArriving keeps a page of a job that is arriving.
func (t *tx) PutArriving(job string, n int64, page []byte) error {
	row := arrivingRow{Co: t.co, Job: job, N: n, Page: page}
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}

// Arriving lists the pages that have come of a job, in order.
func (t *tx) Arriving(job string) ([][]byte, error) {
	var rows []arrivingRow
	if err := t.of().Where("job = ?", job).Order("n").Find(&rows).Error; err != nil {
		return nil, err
	}
	pages := make([][]byte, len(rows))
	for i, r := range rows {
		pages[i] = r.Page
	}
	return pages, nil
}

// DropArriving forgets the pages of a job.
func (t *tx) DropArriving(job string) error {
	return t.of().Where("job = ?", job).Delete(&arrivingRow{}).Error
}
