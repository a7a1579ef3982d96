package accounts

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/jobs"
)

// NoticeWay is how a notice is sent.
type NoticeWay string

// The ways.
const (
	ByMail NoticeWay = "mail"
	ByHook NoticeWay = "hook"
)

// NoticeState is what became of a notice.
type NoticeState string

// The states of a notice.
const (
	NoticeWaiting NoticeState = "waiting"
	NoticeSent    NoticeState = "sent"
	NoticeGivenUp NoticeState = "given_up" // tried until it was no use any more
	NoticeDropped NoticeState = "dropped"  // nobody wants it any more
)

// Notice is one piece of news, to one person or to the address that the firm has called.
type Notice struct {
	Company string
	ID      string
	Way     NoticeWay
	Person  string // empty for a call
	Body    string
	Made    time.Time
	Next    time.Time
	Tries   int
	State   NoticeState
	Says    string // of the last try
	Done    time.Time
}

const (
	// lease is how long a try may take before another server may think that its server died over it.
	lease = 2 * time.Minute
	// keepNotices is how long what was sent is listed; keepTold how long it is known what somebody was told of.
	keepNotices = 90 * 24 * time.Hour
	keepTold    = 400 * 24 * time.Hour
)

// Untold lists which of the things somebody was not told of yet; no person stands for the address that is called.
func (a *Accounts) Untold(ctx context.Context, co, person string, things []string) (list []string, err error) {
	err = a.read(ctx, co, func(tx *gorm.DB) error {
		list, err = a.untold(tx, co, person, things)
		return err
	})
	return list, err
}

func (a *Accounts) untold(tx *gorm.DB, co, person string, things []string) ([]string, error) {
	var rows []noticeToldRow
	for i := 0; i < len(things); i += 500 { // databases bound the parameters of a query
		var some []noticeToldRow
		if err := a.of(tx, co).Where("person = ? AND thing IN ?", person, things[i:min(i+500, len(things))]).Find(&some).Error; err != nil {
			return nil, fmt.Errorf("look for what was told: %w", err)
		}
		rows = append(rows, some...)
	}
	told := map[string]bool{}
	for _, r := range rows {
		told[r.Thing] = true
	}
	var list []string
	for _, t := range things {
		if !told[t] {
			list = append(list, t)
		}
	}
	return list, nil
}

// Tell notes that a person is told of things, and keeps the notice that tells it, both or neither: several servers may find the same
// thing at once, and one of them tells. Things that were told already are left out; makeBody is given the others. For a person it does
// nothing before the time that lies between two mails is over, and it tells whether it kept a notice.
func (a *Accounts) Tell(ctx context.Context, co, person string, way NoticeWay, things []string, makeBody func(things []string) (string, error)) (kept bool, err error) {
	err = a.write(ctx, co, func(tx *gorm.DB) error {
		now := a.ms()
		if way == ByMail {
			// It also holds other servers up until this is decided.
			r := a.of(tx, co).Model(&noticeWishRow{}).Where("person = ? AND confirmed_ms IS NOT NULL AND last_ms <= ? - every_min * 60000", person, now).Update("last_ms", now)
			if r.Error != nil || r.RowsAffected == 0 {
				return r.Error
			}
		}
		var fresh []string
		for _, t := range things {
			r := tx.Clauses(clause.OnConflict{DoNothing: true}).Create(&noticeToldRow{Co: co, Person: person, Thing: t, MadeMS: now})
			if r.Error != nil {
				return r.Error
			}
			if r.RowsAffected == 1 {
				fresh = append(fresh, t)
			}
		}
		if len(fresh) == 0 {
			return errNothingNew
		}
		body, err := makeBody(fresh)
		if err != nil {
			return err
		}
		kept = true
		_, err = a.putNotice(tx, co, person, way, body)
		return err
	})
	if errors.Is(err, errNothingNew) { // taken back: nobody was written to, so no time has to pass
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("keep a notice: %w", err)
	}
	return kept, nil
}

var errNothingNew = errors.New("nothing new to tell")

// PutNotice keeps a notice that is to be sent whatever was told before. It returns its id.
func (a *Accounts) PutNotice(ctx context.Context, co, person string, way NoticeWay, body string) (id string, err error) {
	err = a.write(ctx, co, func(tx *gorm.DB) error {
		id, err = a.putNotice(tx, co, person, way, body)
		return err
	})
	if err != nil {
		return "", fmt.Errorf("keep a notice: %w", err)
	}
	return id, nil
}

func (a *Accounts) putNotice(tx *gorm.DB, co, person string, way NoticeWay, body string) (string, error) {
	id, err := newID()
	if err != nil {
		return "", err
	}
	return id, tx.Create(&noticeOutRow{Co: co, Notice: id, Way: string(way), Person: person, Body: body, MadeMS: a.ms(), NextMS: a.ms(), State: string(NoticeWaiting)}).Error
}

// DueNotices lists what is to be tried now and nobody is trying, the oldest first.
func (a *Accounts) DueNotices(ctx context.Context, co string, most int) ([]Notice, error) {
	return a.notices(ctx, co, func(tx *gorm.DB) *gorm.DB {
		return tx.Where("state = ? AND next_ms <= ? AND lease_ms <= ?", string(NoticeWaiting), a.ms(), a.ms()).Order("made_ms, notice").Limit(most)
	})
}

// Notices lists what was sent lately and what waits, the latest first.
func (a *Accounts) Notices(ctx context.Context, co string, most int) ([]Notice, error) {
	return a.notices(ctx, co, func(tx *gorm.DB) *gorm.DB { return tx.Order("made_ms DESC, notice DESC").Limit(most) })
}

// Notice finds one.
func (a *Accounts) Notice(ctx context.Context, co, id string) (Notice, error) {
	list, err := a.notices(ctx, co, func(tx *gorm.DB) *gorm.DB { return tx.Where("notice = ?", id) })
	if err == nil && len(list) == 0 {
		err = fmt.Errorf("notice %s: %w", id, jobs.ErrNotFound)
	}
	if err != nil {
		return Notice{}, err
	}
	return list[0], nil
}

func (a *Accounts) notices(ctx context.Context, co string, which func(*gorm.DB) *gorm.DB) ([]Notice, error) {
	var rows []noticeOutRow
	err := a.read(ctx, co, func(tx *gorm.DB) error { return which(a.of(tx, co)).Find(&rows).Error })
	if err != nil {
		return nil, fmt.Errorf("list notices: %w", err)
	}
	list := make([]Notice, len(rows))
	for i, r := range rows {
		list[i] = Notice{Company: r.Co, ID: r.Notice, Way: NoticeWay(r.Way), Person: r.Person, Body: r.Body, Made: time.UnixMilli(r.MadeMS), Next: time.UnixMilli(r.NextMS), Tries: r.Tries, State: NoticeState(r.State), Says: r.Says}
		if r.DoneMS != nil {
			list[i].Done = time.UnixMilli(*r.DoneMS)
		}
	}
	return list, nil
}

// TakeNotice takes a notice to try it: true for one server alone, until it says how it went or the lease is over. The number of the try
// is counted in n.
func (a *Accounts) TakeNotice(ctx context.Context, n *Notice) (mine bool, err error) {
	err = a.write(ctx, n.Company, func(tx *gorm.DB) error {
		r := a.of(tx, n.Company).Model(&noticeOutRow{}).Where("notice = ? AND state = ? AND tries = ? AND lease_ms <= ?", n.ID, string(NoticeWaiting), n.Tries, a.ms()).
			Updates(map[string]any{"tries": n.Tries + 1, "lease_ms": a.ms() + lease.Milliseconds()})
		mine = r.RowsAffected == 1
		return r.Error
	})
	if err != nil {
		return false, fmt.Errorf("take notice %s: %w", n.ID, err)
	}
	if mine {
		n.Tries++
	}
	return mine, nil
}

// EndTry says how the try of a notice that was taken went. While it waits on, it is tried again at next.
func (a *Accounts) EndTry(ctx context.Context, n Notice, state NoticeState, says string, next time.Time) error {
	set := map[string]any{"state": string(state), "says": says, "lease_ms": 0}
	if state == NoticeWaiting {
		set["next_ms"] = next.UnixMilli()
	} else {
		set["done_ms"] = a.ms()
	}
	err := a.write(ctx, n.Company, func(tx *gorm.DB) error {
		return a.of(tx, n.Company).Model(&noticeOutRow{}).Where("notice = ? AND tries = ?", n.ID, n.Tries).Updates(set).Error
	})
	if err != nil {
		return fmt.Errorf("note how notice %s went: %w", n.ID, err)
	}
	return nil
}

// TryAgain has a notice tried again now that waits or was given up.
func (a *Accounts) TryAgain(ctx context.Context, co, id string) error {
	return a.write(ctx, co, func(tx *gorm.DB) error {
		r := a.of(tx, co).Model(&noticeOutRow{}).Where("notice = ? AND state IN ?", id, []string{string(NoticeWaiting), string(NoticeGivenUp)}).
			Updates(map[string]any{"state": string(NoticeWaiting), "next_ms": a.ms(), "made_ms": a.ms(), "done_ms": nil})
		if r.Error != nil {
			return fmt.Errorf("try notice %s again: %w", id, r.Error)
		}
		if r.RowsAffected == 0 {
			return fmt.Errorf("notice %s: %w", id, jobs.ErrNotFound)
		}
		return nil
	})
}
