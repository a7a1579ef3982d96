package store

import (
	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type photoRow struct {
	Co   string `gorm:"primaryKey"`
	Job  string `gorm:"primaryKey"`
	H    []byte `gorm:"primaryKey"`
	Size int64
	Here int
	Sent int
}

func (photoRow) TableName() string { return "blob" }

func (r photoRow) photo() replica.Photo {
	return replica.Photo{Job: r.Job, H: hash(r.H), Size: r.Size, Here: r.Here == 1, Sent: r.Sent == 1}
}

// Photo reads what is known of a photo that an entry of the job names.
func (t *tx) Photo(job string, h jobs.Hash) (replica.Photo, error) {
	var rows []photoRow
	if err := t.of().Where("job = ? AND h = ?", job, h[:]).Limit(1).Find(&rows).Error; err != nil {
		return replica.Photo{}, err
	}
	if len(rows) == 0 {
		return replica.Photo{}, jobs.ErrNotFound
	}
	return rows[0].photo(), nil
}

// PutPhoto writes what is known of a photo.
func (t *tx) PutPhoto(p replica.Photo) error {
	row := photoRow{Co: t.co, Job: p.Job, H: p.H[:], Size: p.Size, Here: bit(p.Here), Sent: bit(p.Sent)}
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}

// Photos lists photos by what is known of them.
func (t *tx) Photos(here, sent bool, limit int) ([]replica.Photo, error) {
	return photos(t.of().Where("here = ? AND sent = ?", bit(here), bit(sent)).Order("job, h").Limit(limit))
}

// CountPhotos counts photos by what is known of them.
func (t *tx) CountPhotos(here, sent bool) (int, error) {
	var n int64
	err := t.of().Table("blob").Where("here = ? AND sent = ?", bit(here), bit(sent)).Count(&n).Error
	return int(n), err
}

// PhotoBytes counts the bytes of the photos that are here. One that two jobs name is kept once.
func (t *tx) PhotoBytes() (int64, error) {
	var row struct{ N int64 }
	distinct := t.of().Table("blob").Select("DISTINCT h, size").Where("here = 1")
	err := t.db.Table("(?) AS b", distinct).Select("COALESCE(SUM(size), 0) AS n").Scan(&row).Error
	return row.N, err
}

// AllPhotos lists all photos that entries name.
func (t *tx) AllPhotos() ([]replica.Photo, error) { return photos(t.of().Order("job, h")) }

func photos(q *gorm.DB) ([]replica.Photo, error) {
	var rows []photoRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, err
	}
	ps := make([]replica.Photo, len(rows))
	for i, r := range rows {
		ps[i] = r.photo()
	}
	return ps, nil
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}
