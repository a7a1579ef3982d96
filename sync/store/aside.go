package store

import (
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type asideRow struct {
	Co    string `gorm:"primaryKey"`
	H     []byte `gorm:"primaryKey"`
	Why   string `gorm:"primaryKey"`
	Dev   string
	Job   string
	Seq   int64
	Run   int64
	Size  int64
	At    int64
	Env   []byte
	Body  []byte
	State string
	Says  string
	Key   []byte `gorm:"->"`
}

func (asideRow) TableName() string { return "aside" }

// PutAside keeps entries that may enter no lane.
func (t *tx) PutAside(as []replica.Aside) error {
	if len(as) == 0 {
		return nil
	}
	rows := make([]asideRow, len(as))
	for i, a := range as {
		if a.Data == nil {
			a.Data = []byte{} // held back: it was never here
		}
		rows[i] = asideRow{Co: t.co, H: a.Hash[:], Why: string(a.Why), Dev: a.Dev, Job: a.Job, Seq: a.Seq, Run: a.Run,
			Size: int64(len(a.Env) + len(a.Data)), At: a.At, Env: a.Env, Body: a.Data, State: string(a.State), Says: a.Says}
	}
	var keys []keyRow
	for _, a := range as {
		if a.Key != nil {
			keys = append(keys, keyRow{H: a.Hash[:], Key: a.Key})
		}
	}
	if err := t.putKeys(keys); err != nil {
		return err
	}
	return t.db.Clauses(clause.OnConflict{DoNothing: true}).CreateInBatches(rows, batch).Error
}

// Asides lists what was set aside, of one device or of all.
func (t *tx) Asides(dev string) ([]replica.Aside, error) {
	q := t.of().Select("aside.*, " + keyOf("aside")).Order("dev, run, why")
	if dev != "" {
		q = q.Where("dev = ?", dev)
	}
	var rows []asideRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, err
	}
	as := make([]replica.Aside, len(rows))
	for i, r := range rows {
		e, err := replica.Restore(r.Env, r.Body, hash(r.H))
		if err != nil {
			return nil, err
		}
		e.Key = r.Key
		as[i] = replica.Aside{Entry: e, Why: replica.Why(r.Why), At: r.At, State: replica.AsideState(r.State), Says: r.Says}
	}
	return as, nil
}

// SetAside notes what became of an entry that was set aside.
func (t *tx) SetAside(h jobs.Hash, why replica.Why, state replica.AsideState, says string) error {
	return one(t.of().Table("aside").Where("h = ? AND why = ?", h[:], string(why)).Updates(map[string]any{"state": string(state), "says": says}))
}

// AsideBytes counts the bytes that are kept of a device.
func (t *tx) AsideBytes(dev string) (int64, error) {
	var row struct{ N int64 }
	err := t.of().Table("aside").Select("COALESCE(SUM(size), 0) AS n").Where("dev = ? AND state = ?", dev, string(replica.AsideKept)).Scan(&row).Error
	return row.N, err
}

// Leave moves entries, and the seals on them, out of the record. The schema lets an entry go only once its bytes lie aside.
func (t *tx) Leave(as []replica.Aside) error {
	if err := t.PutAside(as); err != nil {
		return err
	}
	for _, a := range as {
		if err := one(t.of().Where("h = ?", a.Hash[:]).Delete(&entryRow{})); err != nil {
			return err
		}
		if err := t.of().Where("dev = ? AND job = ? AND seq = ? AND h = ?", a.Dev, a.Job, a.Seq, a.Hash[:]).Delete(&sealRow{}).Error; err != nil {
			return err
		}
	}
	return nil
}
