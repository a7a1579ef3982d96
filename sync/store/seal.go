package store

import (
	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type sealRow struct {
	Co      string `gorm:"primaryKey"`
	Dev     string `gorm:"primaryKey"`
	Job     string `gorm:"primaryKey"`
	Seq     int64  `gorm:"primaryKey;autoIncrement:false"`
	H       []byte
	Run     int64
	Sig     []byte
	Epoch   string
	N       *int64
	At      int64
	Receipt []byte
}

func (sealRow) TableName() string { return "seal" }

func (r sealRow) seal() replica.Seal {
	s := replica.Seal{Co: r.Co, Dev: r.Dev, Job: r.Job, Seq: r.Seq, H: hash(r.H), Run: r.Run, Sig: r.Sig}
	if r.N != nil {
		s.Receipt = &replica.Receipt{Co: r.Co, Epoch: r.Epoch, N: *r.N, Dev: r.Dev, Job: r.Job, Seq: r.Seq, H: s.H, At: r.At, Sig: r.Receipt}
	}
	return s
}

// PutSeals keeps seals, with what their receipts say. A seal that is already there stays, so that its receipt, asked for
// again, is the same; only a receipt that was missing is filled in.
func (t *tx) PutSeals(ss []replica.Seal) error {
	t.changed = true
	if len(ss) == 0 {
		return nil
	}
	rows := make([]sealRow, len(ss))
	for i, s := range ss {
		rows[i] = sealRow{Co: t.co, Dev: s.Dev, Job: s.Job, Seq: s.Seq, H: s.H[:], Run: s.Run, Sig: s.Sig}
		if r := s.Receipt; r != nil {
			rows[i].Epoch, rows[i].N, rows[i].At, rows[i].Receipt = r.Epoch, position(r.N), r.At, r.Sig
		}
	}
	fill := clause.OnConflict{
		Columns:   []clause.Column{{Name: "co"}, {Name: "dev"}, {Name: "job"}, {Name: "seq"}},
		DoUpdates: clause.AssignmentColumns([]string{"epoch", "n", "at", "receipt"}),
		Where:     clause.Where{Exprs: []clause.Expression{gorm.Expr("seal.n IS NULL AND excluded.n IS NOT NULL")}},
	}
	return t.db.Clauses(fill).CreateInBatches(rows, batch).Error
}

// Seals lists the seals on entries whose act lies in a stretch of the log.
func (t *tx) Seals(afterN, uptoN int64) ([]replica.Seal, error) {
	return t.seals(t.of().Where("n > ? AND n <= ?", afterN, uptoN).Order("n, dev, job, seq"))
}

// SealsOf lists the seals of a job, lane by lane.
func (t *tx) SealsOf(job string) ([]replica.Seal, error) {
	return t.seals(t.of().Where("job = ?", job).Order("dev, seq"))
}

// SealAt reads the seal on one entry.
func (t *tx) SealAt(dev, job string, seq int64) (replica.Seal, error) {
	return t.firstSeal(t.of().Where("dev = ? AND job = ? AND seq = ?", dev, job, seq))
}

// LastSeal reads the newest seal of a lane.
func (t *tx) LastSeal(dev, job string) (replica.Seal, error) {
	return t.firstSeal(t.of().Where("dev = ? AND job = ?", dev, job).Order("seq DESC"))
}

func (t *tx) firstSeal(q *gorm.DB) (replica.Seal, error) {
	ss, err := t.seals(q.Limit(1))
	if err != nil {
		return replica.Seal{}, err
	}
	if len(ss) == 0 {
		return replica.Seal{}, jobs.ErrNotFound
	}
	return ss[0], nil
}

func (t *tx) seals(q *gorm.DB) ([]replica.Seal, error) {
	var rows []sealRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, err
	}
	ss := make([]replica.Seal, len(rows))
	for i, r := range rows {
		ss[i] = r.seal()
	}
	return ss, nil
}
