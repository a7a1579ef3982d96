package store

import (
	"errors"
	"fmt"

	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/sync/replica"
)

type entryRow struct {
	Co    string `gorm:"primaryKey"`
	H     []byte `gorm:"primaryKey"`
	ID    string
	Job   string
	Dev   string
	Seq   int64
	Run   int64
	Clk   string
	Kind  string
	Len   int
	Env   []byte
	Body  []byte
	Pos   int64
	At    int64
	N     *int64
	State string
	Says  string
	Key   []byte `gorm:"->"` // of what is sealed in the body, from its own table
}

func (entryRow) TableName() string { return "entry" }

func (r entryRow) stored() (replica.Stored, error) {
	e, err := replica.Restore(r.Env, r.Body, hash(r.H))
	e.Key = r.Key
	s := replica.Stored{Entry: e, State: replica.State(r.State), Pos: r.Pos, At: r.At, Says: r.Says,
		Misfiled: r.ID != e.ID || r.Job != e.Job || r.Dev != e.Dev || r.Seq != e.Seq || r.Run != e.Run || r.Kind != e.Kind}
	if r.N != nil {
		s.N = *r.N
	}
	return s, err
}

func (r entryRow) known() replica.Known {
	k := replica.Known{H: hash(r.H), State: replica.State(r.State), Seq: r.Seq, Run: r.Run}
	if r.N != nil {
		k.N = *r.N
	}
	return k
}

func stored(rows []entryRow) ([]replica.Stored, error) {
	list := make([]replica.Stored, len(rows))
	for i, r := range rows {
		var err error
		if list[i], err = r.stored(); err != nil {
			return nil, err
		}
	}
	return list, nil
}

var entryColumns = []string{"co", "h", "id", "job", "dev", "seq", "run", "clk", "kind", "len", "env", "body", "pos", "at", "n", "state", "says"}

// Insert keeps new entries, their bytes exactly as given, and draws their places in the order of arrival.
func (t *tx) Insert(es []replica.Stored) error {
	t.changed = true
	if len(es) == 0 {
		return nil
	}
	rows := bulk{table: "entry", columns: entryColumns, values: make([]any, 0, len(es)*len(entryColumns))}
	var keys []keyRow
	marks := map[string]*replica.Mark{}
	for i := range es {
		e := &es[i]
		if e.Co != t.co {
			return fmt.Errorf("entry %s belongs to another company: %w", e.ID, jobs.ErrNotFound)
		}
		m, ok := marks[e.Job]
		if !ok {
			found, err := t.Mark(e.Job)
			if err != nil {
				return err
			}
			m = &found
			marks[e.Job] = m
		}
		m.Total++
		e.Pos = m.Total
		clk, err := e.Clk.MarshalText()
		if err != nil {
			return err
		}
		rows.values = append(rows.values, t.co, e.Hash[:], e.ID, e.Job, e.Dev, e.Seq, e.Run, string(clk), e.Kind, int64(e.Len), e.Env, e.Data,
			e.Pos, e.At, orNull(e.N), string(e.State), e.Says)
		if e.Key != nil {
			keys = append(keys, keyRow{H: e.Hash[:], Key: e.Key})
		}
	}
	if err := t.putKeys(keys); err != nil {
		return err
	}
	if err := t.insert(rows); errors.Is(err, gorm.ErrDuplicatedKey) {
		return fmt.Errorf("%w: %w", replica.ErrLaneForked, err)
	} else if err != nil {
		return err
	}
	for _, m := range marks {
		if err := t.putMark(*m); err != nil {
			return err
		}
	}
	return nil
}

// orNull is position for a bulk.
func orNull(n int64) any {
	if n == 0 {
		return nil
	}
	return n
}

func position(n int64) *int64 {
	if n == 0 {
		return nil
	}
	return &n
}

// Known tells which of these ids are here.
func (t *tx) Known(ids []string) (map[string]replica.Known, error) {
	found := make(map[string]replica.Known, len(ids))
	for len(ids) > 0 {
		part := ids[:min(asked, len(ids))]
		ids = ids[len(part):]
		var rows []entryRow
		if err := t.of().Select("id, h, state, n, seq, run").Where("id IN ?", part).Find(&rows).Error; err != nil {
			return nil, err
		}
		for _, r := range rows {
			found[r.ID] = r.known()
		}
	}
	return found, nil
}

// At reads what stands at a place of a lane.
func (t *tx) At(dev, job string, seq int64) (replica.Known, error) {
	var rows []entryRow
	err := t.of().Select("h, state, n, seq, run").Where("dev = ? AND job = ? AND seq = ?", dev, job, seq).Limit(1).Find(&rows).Error
	if err != nil {
		return replica.Known{}, err
	}
	if len(rows) == 0 {
		return replica.Known{}, jobs.ErrNotFound
	}
	return rows[0].known(), nil
}

// Lane reads the end of one lane.
func (t *tx) Lane(dev, job string) (replica.LaneHead, error) {
	var rows []entryRow
	err := t.of().Select("seq, h").Where("dev = ? AND job = ?", dev, job).Order("seq DESC").Limit(1).Find(&rows).Error
	if err != nil || len(rows) == 0 {
		return replica.LaneHead{Job: job}, err
	}
	return replica.LaneHead{Job: job, Seq: rows[0].Seq, H: hash(rows[0].H)}, nil
}

// LanesOf reads the ends of all lanes of a device.
func (t *tx) LanesOf(dev string) ([]replica.LaneHead, error) {
	var rows []entryRow
	err := t.of().Select("job, seq, h").
		Where("dev = ? AND seq = (SELECT MAX(last.seq) FROM entry last WHERE last.co = entry.co AND last.dev = entry.dev AND last.job = entry.job)", dev).
		Order("job").Find(&rows).Error
	heads := make([]replica.LaneHead, len(rows))
	for i, r := range rows {
		heads[i] = replica.LaneHead{Job: r.Job, Seq: r.Seq, H: hash(r.H)}
	}
	return heads, err
}

// Entries reads a job's entries in the order of arrival.
func (t *tx) Entries(job string, afterPos int64) ([]replica.Stored, error) {
	var rows []entryRow
	if err := t.whole().Where("job = ? AND pos > ?", job, afterPos).Order("pos").Find(&rows).Error; err != nil {
		return nil, err
	}
	return stored(rows)
}

// Outbox reads what has no receipt yet, in the device's own order, until either limit is reached.
func (t *tx) Outbox(limit, maxBytes int) (out []replica.Stored, err error) {
	var after int64
	for size := 0; len(out) < limit && size <= maxBytes; {
		n := min(asked, limit-len(out))
		var rows []entryRow
		if err := t.whole().Where("state = 'unsent' AND run > ?", after).Order("run").Limit(n).Find(&rows).Error; err != nil {
			return nil, err
		}
		part, err := stored(rows)
		if err != nil {
			return nil, err
		}
		for _, s := range part {
			size += len(s.Env) + len(s.Data)
			after = s.Run
		}
		out = append(out, part...)
		if len(part) < n {
			break
		}
	}
	return out, nil
}

// From reads what a device has written from a number on, in its own order.
func (t *tx) From(dev string, run int64) ([]replica.Stored, error) {
	var rows []entryRow
	if err := t.whole().Where("dev = ? AND run >= ?", dev, run).Order("run").Find(&rows).Error; err != nil {
		return nil, err
	}
	return stored(rows)
}

// ToConfirm takes what was sent, and what stands behind a position, back to where the server's word is awaited. No position behind
// it holds any more. What counts in a job stays the same.
func (t *tx) ToConfirm(after int64) error {
	err := t.of().Table("entry").Where("state IN ? AND (n > ? OR n IS NULL)", []string{string(replica.Sent), string(replica.Standing)}, after).
		Updates(map[string]any{"state": string(replica.ToConfirm), "n": nil}).Error
	if err != nil {
		return err
	}
	if err := t.of().Table("entry").Where("n > ?", after).Update("n", nil).Error; err != nil {
		return err
	}
	changed, err := t.Marks(after)
	if err != nil {
		return err
	}
	for _, m := range changed {
		if err := t.recount(m); err != nil {
			return err
		}
	}
	return nil
}

// recount makes the mark of a job anew of the entries that have a position.
func (t *tx) recount(m replica.Mark) error {
	var rows []entryRow
	if err := t.of().Select("h", "state", "n").Where("job = ? AND n IS NOT NULL", m.Job).Find(&rows).Error; err != nil {
		return err
	}
	m.Count, m.Sum, m.N = 0, jobs.Hash{}, 0
	for _, r := range rows {
		m.N = max(m.N, *r.N)
		if r.State == string(replica.Standing) {
			m.Stands(hash(r.H))
		}
	}
	return t.SetMark(m)
}

// Entry reads one entry.
func (t *tx) Entry(h jobs.Hash) (replica.Stored, error) {
	var rows []entryRow
	if err := t.whole().Where("h = ?", h[:]).Limit(1).Find(&rows).Error; err != nil {
		return replica.Stored{}, err
	}
	if len(rows) == 0 {
		return replica.Stored{}, jobs.ErrNotFound
	}
	return rows[0].stored()
}

// InState reads the entries in a state, those of one device left out.
func (t *tx) InState(s replica.State, notDev string, limit int) ([]replica.Stored, error) {
	var rows []entryRow
	q := t.whole().Where("state = ? AND dev <> ?", string(s), notDev)
	if s == replica.Held || s == replica.Refused || s == replica.ToConfirm {
		q = q.Where("state IN ('held', 'refused', 'to_confirm')") // in the words of entry_few, which is not used without them
	}
	if err := q.Order("dev, run").Limit(limit).Find(&rows).Error; err != nil {
		return nil, err
	}
	return stored(rows)
}

// SetState moves an entry to another state, and says why.
func (t *tx) SetState(h jobs.Hash, s replica.State, n int64, says string) error {
	t.changed = true
	res := t.of().Table("entry").Where("h = ?", h[:]).Updates(map[string]any{"state": string(s), "n": position(n), "says": says})
	return one(res)
}

// SetBody fills in a body that was held back.
func (t *tx) SetBody(h jobs.Hash, body, key []byte) error {
	if err := one(t.of().Table("entry").Where("h = ? AND body IS NULL", h[:]).Update("body", body)); err != nil {
		return err
	}
	if key == nil {
		return nil
	}
	return t.putKeys([]keyRow{{H: h[:], Key: key}})
}

func one(res *gorm.DB) error {
	if res.Error == nil && res.RowsAffected != 1 {
		return jobs.ErrNotFound
	}
	return res.Error
}

// MarkSent moves what a receipt covers from unsent to sent.
func (t *tx) MarkSent(dev, job string, upto int64) (int, error) {
	res := t.of().Table("entry").Where("dev = ? AND job = ? AND seq <= ? AND state = 'unsent'", dev, job, upto).Update("state", string(replica.Sent))
	return int(res.RowsAffected), res.Error
}

// Count counts the entries of a device in a state.
func (t *tx) Count(s replica.State, dev string) (n int, oldest int64, err error) {
	var row struct {
		N      int
		Oldest int64
	}
	err = t.of().Table("entry").Select("COUNT(*) AS n, COALESCE(MIN(at), 0) AS oldest").Where("state = ? AND dev = ?", string(s), dev).Scan(&row).Error
	return row.N, row.Oldest, err
}
