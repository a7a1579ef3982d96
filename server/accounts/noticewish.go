package accounts

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/acoustics"
	"tacet/jobs"
)

// NoticeWish is what a person asked to be told of by mail.
type NoticeWish struct {
	Company string
	Person  string
	Name    string
	Role    jobs.Role // as it is now
	Mail    string
	Kinds   []string
	// Nothing is sent from QuietFrom to QuietTo, in minutes after midnight; equal for no such hours.
	QuietFrom, QuietTo int
	EveryMin           int // at least so many minutes lie between two mails
	Confirmed          bool
}

// MayBeTold tells whether a role is sent news: whoever answers or decides. The site has the answers on its own devices.
func MayBeTold(r jobs.Role) bool { return r != jobs.Site }

// Bounds of how often somebody is written to, in minutes.
const (
	MinEvery     = 5
	MaxEvery     = 24 * 60
	DefaultEvery = 15
)

// SetNoticeWish keeps what a person asked for. It tells whether the address has to be confirmed, which a new one always has.
func (a *Accounts) SetNoticeWish(ctx context.Context, w Who, n NoticeWish) (confirm bool, err error) {
	n.Mail = strings.TrimSpace(n.Mail)
	if !MayBeTold(w.Role) {
		return false, &jobs.RuleError{Says: "news goes to supervisors, office and owners"}
	}
	if err := checkMail("mail", n.Mail); err != nil {
		return false, err
	}
	if len(n.Kinds) == 0 {
		return false, &acoustics.InputError{Field: "kinds", Value: "missing", Hint: "choose what to be told of, or end the news"}
	}
	if n.EveryMin < MinEvery || n.EveryMin > MaxEvery {
		return false, &acoustics.InputError{Field: "every_min", Value: fmt.Sprint(n.EveryMin), Range: fmt.Sprintf("%d to %d", MinEvery, MaxEvery), Unit: "min"}
	}
	err = a.write(ctx, w.Company, func(tx *gorm.DB) error {
		row := noticeWishRow{Co: w.Company, Person: w.Person, Mail: n.Mail, Kinds: strings.Join(n.Kinds, " "), QuietFrom: n.QuietFrom, QuietTo: n.QuietTo, EveryMin: n.EveryMin}
		was, err := a.noticeWish(tx, w.Company, w.Person, true)
		if err != nil {
			return err
		}
		if was != nil && was.Mail == n.Mail {
			row.ConfirmedMS, row.LastMS = was.ConfirmedMS, was.LastMS
		}
		confirm = row.ConfirmedMS == nil
		if was == nil {
			return tx.Create(&row).Error
		}
		set := map[string]any{"mail": row.Mail, "kinds": row.Kinds, "quiet_from": row.QuietFrom, "quiet_to": row.QuietTo, "every_min": row.EveryMin, "confirmed_ms": row.ConfirmedMS, "last_ms": row.LastMS}
		return a.of(tx, w.Company).Model(&noticeWishRow{}).Where("person = ?", w.Person).Updates(set).Error
	})
	if err != nil {
		return false, fmt.Errorf("keep the wish for notices: %w", err)
	}
	return confirm, nil
}

// EndNoticeWish ends the news of a person and forgets the address.
func (a *Accounts) EndNoticeWish(ctx context.Context, co, person string) error {
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		return a.of(tx, co).Where("person = ?", person).Delete(&noticeWishRow{}).Error
	})
	if err != nil {
		return fmt.Errorf("end notices: %w", err)
	}
	return nil
}

// NoticeWish returns what a person asked for, nil for nothing.
func (a *Accounts) NoticeWish(ctx context.Context, co, person string) (w *NoticeWish, err error) {
	err = a.read(ctx, co, func(tx *gorm.DB) error {
		row, err := a.noticeWish(tx, co, person, false)
		if err == nil && row != nil {
			n := row.wish()
			w = &n
		}
		return err
	})
	return w, err
}

// NoticeWishes lists the confirmed wishes of the people who may still be told.
func (a *Accounts) NoticeWishes(ctx context.Context, co string) ([]NoticeWish, error) {
	var rows []noticeWishRow
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		return a.of(tx, co).Where("confirmed_ms IS NOT NULL").Order("person").Find(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("list the wishes for notices: %w", err)
	}
	if len(rows) == 0 {
		return nil, nil
	}
	users, err := a.Users(ctx, co)
	if err != nil {
		return nil, err
	}
	told := map[string]User{}
	for _, u := range users {
		if !u.Ended && MayBeTold(u.Role) {
			told[u.Person] = u
		}
	}
	var list []NoticeWish
	for _, r := range rows {
		if u, ok := told[r.Person]; ok {
			w := r.wish()
			w.Name, w.Role = u.Name, u.Role
			list = append(list, w)
		}
	}
	return list, nil
}

func (a *Accounts) noticeWish(tx *gorm.DB, co, person string, lock bool) (*noticeWishRow, error) {
	if lock {
		tx = tx.Clauses(clause.Locking{Strength: clause.LockingStrengthUpdate})
	}
	var row noticeWishRow
	err := a.of(tx, co).Where("person = ?", person).Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("look for the wish for notices: %w", err)
	}
	return &row, nil
}

func (r noticeWishRow) wish() NoticeWish {
	return NoticeWish{Company: r.Co, Person: r.Person, Mail: r.Mail, Kinds: strings.Fields(r.Kinds), QuietFrom: r.QuietFrom, QuietTo: r.QuietTo, EveryMin: r.EveryMin, Confirmed: r.ConfirmedMS != nil}
}

// The links in a mail carry whom they are for and a proof of it. They end nobody's secret: one stops mails, the other confirms the very
// address that it was sent to.
const (
	linkStop    = "stop"
	linkConfirm = "confirm"
)

// StopLink is what the link that stops somebody's mails carries.
func (a *Accounts) StopLink(w NoticeWish) string {
	return a.noticeLink(linkStop, w.Company, w.Person, "")
}

// ConfirmLink is what the link that confirms an address carries.
func (a *Accounts) ConfirmLink(w NoticeWish) string {
	return a.noticeLink(linkConfirm, w.Company, w.Person, w.Mail)
}

func (a *Accounts) noticeLink(what, co, person, mail string) string {
	m := hmac.New(sha256.New, a.Keys().notice)
	fmt.Fprintf(m, "%s\n%s\n%s\n%s", what, co, person, mail)
	return co + "." + person + "." + base64.RawURLEncoding.EncodeToString(m.Sum(nil))
}

// StopNotices ends the mails of whom a link is for. It tells nobody whether there were any.
func (a *Accounts) StopNotices(ctx context.Context, link string) error {
	co, person, ok := linkOf(link)
	if !ok || !hmac.Equal([]byte(link), []byte(a.noticeLink(linkStop, co, person, ""))) {
		return jobs.ErrNotFound
	}
	return a.EndNoticeWish(ctx, co, person)
}

// ConfirmNotices takes the address that a link was sent to.
func (a *Accounts) ConfirmNotices(ctx context.Context, link string) error {
	co, person, ok := linkOf(link)
	if !ok {
		return jobs.ErrNotFound
	}
	return a.write(ctx, co, func(tx *gorm.DB) error {
		row, err := a.noticeWish(tx, co, person, true)
		if err != nil {
			return err
		}
		if row == nil || !hmac.Equal([]byte(link), []byte(a.noticeLink(linkConfirm, co, person, row.Mail))) {
			return jobs.ErrNotFound
		}
		return a.of(tx, co).Model(&noticeWishRow{}).Where("person = ? AND confirmed_ms IS NULL", person).Update("confirmed_ms", a.ms()).Error
	})
}

func linkOf(link string) (co, person string, ok bool) {
	parts := strings.Split(link, ".")
	if len(parts) != 3 || len(link) > 200 || parts[0] == "" || parts[0] == everyone || parts[1] == "" {
		return "", "", false
	}
	return parts[0], parts[1], true
}
