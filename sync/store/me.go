package store

import (
	"context"
	"encoding/binary"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type meRow struct {
	Co          string `gorm:"primaryKey"`
	Active      int
	Device      string
	Person      string
	Role        string
	Server      string
	Login       string
	Certificate string
	ServerKey   []byte
	Epoch       string
	CursorN     int64
	CursorHead  []byte
	CursorSig   []byte
	Off         int64
	Access      string
	Ladder      []byte
}

func (meRow) TableName() string { return "me" }

func (r meRow) me() replica.Me {
	return replica.Me{Company: r.Co, Active: r.Active == 1, Device: r.Device, Person: r.Person, Role: jobs.Role(r.Role), Server: r.Server,
		Login: r.Login, Certificate: r.Certificate, ServerKey: r.ServerKey, Off: r.Off, Access: r.Access, Ladder: unpackLadder(r.Ladder),
		Cursor: replica.Cursor{Epoch: r.Epoch, N: r.CursorN, Head: hash(r.CursorHead), Sig: r.CursorSig}}
}

// Me reads who this home is in the company.
func (t *tx) Me() (replica.Me, error) {
	var rows []meRow
	if err := t.of().Limit(1).Find(&rows).Error; err != nil {
		return replica.Me{}, err
	}
	if len(rows) == 0 {
		return replica.Me{}, replica.ErrNoHome
	}
	return rows[0].me(), nil
}

// PutMe writes who this home is in the company. One identity is active: the one before it is put away first.
func (t *tx) PutMe(m replica.Me) error {
	if m.Active {
		if err := t.db.Table("me").Where("active = 1 AND co <> ?", t.co).Update("active", 0).Error; err != nil {
			return err
		}
	}
	row := meRow{Co: t.co, Active: bit(m.Active), Device: m.Device, Person: m.Person, Role: string(m.Role), Server: m.Server, Login: m.Login,
		Certificate: m.Certificate, ServerKey: m.ServerKey, Epoch: m.Cursor.Epoch, CursorN: m.Cursor.N, CursorHead: m.Cursor.Head[:],
		CursorSig: m.Cursor.Sig, Off: m.Off, Access: m.Access, Ladder: packLadder(m.Ladder)}
	return t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}

// rungBytes is the length of a rung: position and head, one rung behind the other.
const rungBytes = 8 + 32

func packLadder(l []replica.Rung) []byte {
	b := make([]byte, 0, len(l)*rungBytes)
	for _, r := range l {
		b = append(binary.BigEndian.AppendUint64(b, uint64(r.N)), r.Head[:]...)
	}
	return b
}

func unpackLadder(b []byte) (l []replica.Rung) {
	for ; len(b) >= rungBytes; b = b[rungBytes:] {
		l = append(l, replica.Rung{N: int64(binary.BigEndian.Uint64(b)), Head: hash(b[8:rungBytes])})
	}
	return l
}

// Active gives the identity in which this home records. It looks over all companies, because which one it is is the
// question.
func (s *Store) Active(ctx context.Context) (replica.Me, error) {
	var rows []meRow
	err := s.run(ctx, s.read, nil, func(db *gorm.DB) error {
		if err := speakFor(db, everyone); err != nil {
			return err
		}
		return db.Where("active = 1").Limit(1).Find(&rows).Error
	})
	if err != nil {
		return replica.Me{}, err
	}
	if len(rows) == 0 {
		return replica.Me{}, replica.ErrNoHome
	}
	return rows[0].me(), nil
}

type personRow struct {
	Co     string `gorm:"primaryKey"`
	Person string `gorm:"primaryKey"`
	Name   string
	Role   string
}

func (personRow) TableName() string { return "person" }

// People reads the directory, by name.
func (t *tx) People() ([]replica.Person, error) {
	var rows []personRow
	if err := t.of().Order("name, person").Find(&rows).Error; err != nil {
		return nil, err
	}
	ps := make([]replica.Person, len(rows))
	for i, r := range rows {
		ps[i] = replica.Person{ID: r.Person, Name: r.Name, Role: jobs.Role(r.Role)}
	}
	return ps, nil
}

// PutPeople replaces the directory.
func (t *tx) PutPeople(ps []replica.Person) error {
	if err := t.of().Delete(&personRow{}).Error; err != nil {
		return err
	}
	if len(ps) == 0 {
		return nil
	}
	rows := make([]personRow, len(ps))
	for i, p := range ps {
		rows[i] = personRow{Co: t.co, Person: p.ID, Name: p.Name, Role: string(p.Role)}
	}
	return t.db.CreateInBatches(rows, batch).Error
}
