package store

import (
	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type seqRow struct {
	Co    string `gorm:"primaryKey"`
	Epoch string
	N     int64
	Head  []byte
}

func (seqRow) TableName() string { return "company_seq" }

type logRow struct {
	Co   string `gorm:"primaryKey"`
	N    int64  `gorm:"primaryKey;autoIncrement:false"`
	Act  string
	H    []byte
	Job  string
	Head []byte
	At   int64
	Says string
}

func (logRow) TableName() string { return "log" }

// Seq reads the end of the company's log.
func (t *tx) Seq() (replica.Seq, error) {
	var rows []seqRow
	if err := t.of().Limit(1).Find(&rows).Error; err != nil || len(rows) == 0 {
		return replica.Seq{}, err
	}
	return replica.Seq{Epoch: rows[0].Epoch, N: rows[0].N, Head: hash(rows[0].Head)}, nil
}

// SetSeq writes the end of the company's log.
func (t *tx) SetSeq(s replica.Seq) error {
	row := seqRow{Co: t.co, Epoch: s.Epoch, N: s.N, Head: s.Head[:]}
	t.changed, t.end = true, s.N
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}

type epochRow struct {
	Co     string `gorm:"primaryKey"`
	Epoch  string `gorm:"primaryKey"`
	Parent string
	FirstN int64
	Cause  string
	At     int64
}

func (epochRow) TableName() string { return "epoch" }

// PutEpoch notes where an epoch of the log begins, and why.
func (t *tx) PutEpoch(e replica.Epoch) error {
	return t.db.Create(&epochRow{Co: t.co, Epoch: e.ID, Parent: e.Parent, FirstN: e.FirstN, Cause: e.Cause, At: e.At}).Error
}

var logColumns = []string{"co", "n", "act", "h", "job", "head", "at", "says"}

// Log appends acts.
func (t *tx) Log(acts []replica.Act) error {
	rows := bulk{table: "log", columns: logColumns, values: make([]any, 0, len(acts)*len(logColumns))}
	for i := range acts {
		a := &acts[i]
		rows.values = append(rows.values, t.co, a.N, a.Act, a.H[:], a.Job, a.Head[:], a.At, a.Says)
	}
	return t.insert(rows)
}

// Acts reads the log behind a position, with the entries, until either limit is reached.
func (t *tx) Acts(after int64, limit, maxBytes int) ([]replica.Act, error) {
	return t.acts(after, limit, maxBytes, t.db)
}

// ActsSeen is Acts without those on entries of hidden jobs, unless the device own wrote them.
func (t *tx) ActsSeen(after int64, hidden []string, own string, limit, maxBytes int) ([]replica.Act, error) {
	return t.acts(after, limit, maxBytes, t.db.Where("log.job NOT IN ? OR entry.dev = ?", hidden, own))
}

// ActsOf is Acts of one job, up to a position.
func (t *tx) ActsOf(job string, after, upto int64, limit, maxBytes int) ([]replica.Act, error) {
	return t.acts(after, limit, maxBytes, t.db.Where("log.job = ? AND log.n <= ?", job, upto))
}

func (t *tx) acts(after int64, limit, maxBytes int, only *gorm.DB) ([]replica.Act, error) {
	var acts []replica.Act
	size := 0
	for len(acts) < limit {
		var rows []struct {
			N         int64
			Act       string
			H         []byte
			Job       string
			Head      []byte
			At        int64
			Says      string
			Dev       string
			Env, Body []byte
			Key       []byte
		}
		n := min(asked, limit-len(acts))
		err := t.db.Table("log").Joins("JOIN entry ON entry.co = log.co AND entry.h = log.h").
			Select("log.n, log.act, log.h, log.job, log.head, log.at, log.says, entry.dev, entry.env, entry.body, "+keyOf("entry")).
			Where("log.co = ? AND log.n > ?", t.co, after).Where(only).Order("log.n").Limit(n).Find(&rows).Error
		if err != nil {
			return nil, err
		}
		for _, r := range rows {
			size += len(r.Env) + len(r.Body)
			if size > maxBytes && len(acts) > 0 {
				return acts, nil
			}
			acts = append(acts, replica.Act{N: r.N, Act: r.Act, H: hash(r.H), Job: r.Job, Head: hash(r.Head), At: r.At, Says: r.Says,
				Dev: r.Dev, Raw: replica.Raw{Env: r.Env, Body: r.Body, Key: r.Key}})
			after = r.N
		}
		if len(rows) < n {
			break
		}
	}
	return acts, nil
}

// HeadAt reads the head of the log's chain at a position.
func (t *tx) HeadAt(n int64) (jobs.Hash, error) {
	var rows []logRow
	if err := t.of().Where("n = ?", n).Limit(1).Find(&rows).Error; err != nil || len(rows) == 0 {
		return jobs.Hash{}, err
	}
	return hash(rows[0].Head), nil
}

func hash(b []byte) (h jobs.Hash) {
	copy(h[:], b)
	return h
}
