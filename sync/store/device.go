package store

import (
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type deviceRow struct {
	Co       string `gorm:"primaryKey"`
	Dev      string `gorm:"primaryKey"`
	Pubkey   []byte
	Name     string
	Person   string
	Enrolled int64
	Revoked  int64
	NextRun  int64
	Clk      string
	Was      string
	KeySig   []byte
}

func (deviceRow) TableName() string { return "device" }

func (r deviceRow) device() (replica.Device, error) {
	d := replica.Device{ID: r.Dev, Key: r.Pubkey, Name: r.Name, Person: r.Person, Enrolled: r.Enrolled, Revoked: r.Revoked, NextRun: r.NextRun, Was: r.Was, KeySig: r.KeySig}
	return d, d.Clk.UnmarshalText([]byte(r.Clk))
}

// Device reads one device.
func (t *tx) Device(dev string) (replica.Device, error) {
	var rows []deviceRow
	if err := t.of().Where("dev = ?", dev).Limit(1).Find(&rows).Error; err != nil {
		return replica.Device{}, err
	}
	if len(rows) == 0 {
		return replica.Device{}, jobs.ErrNotFound
	}
	return rows[0].device()
}

// Devices lists the devices, oldest first.
func (t *tx) Devices() ([]replica.Device, error) {
	var rows []deviceRow
	if err := t.of().Order("enrolled, dev").Find(&rows).Error; err != nil {
		return nil, err
	}
	ds := make([]replica.Device, len(rows))
	for i, r := range rows {
		var err error
		if ds[i], err = r.device(); err != nil {
			return nil, err
		}
	}
	return ds, nil
}

// PutDevice writes one device.
func (t *tx) PutDevice(d replica.Device) error {
	clk, err := d.Clk.MarshalText()
	if err != nil {
		return err
	}
	row := deviceRow{Co: t.co, Dev: d.ID, Pubkey: d.Key, Name: d.Name, Person: d.Person, Enrolled: d.Enrolled, Revoked: d.Revoked,
		NextRun: d.NextRun, Clk: string(clk), Was: d.Was, KeySig: d.KeySig}
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}
