package accounts

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"

	"tacet/jobs"
)

// ErasePerson erases who somebody was, once their access has ended: name, login, mail address, and all that they could sign in with.
// What they recorded stays, under an id that means nobody any more; the directory of each device follows at its next contact.
func (a *Accounts) ErasePerson(ctx context.Context, co, person string) error {
	return a.erasePerson(ctx, co, person, false)
}

// EraseAgain erases somebody whom a backup brought back; whether their access had ended when it was made does not matter.
func (a *Accounts) EraseAgain(ctx context.Context, co, person string) error {
	err := a.erasePerson(ctx, co, person, true)
	if errors.Is(err, jobs.ErrNotFound) {
		return nil // the backup is older than they are
	}
	return err
}

func (a *Accounts) erasePerson(ctx context.Context, co, person string, again bool) error {
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		u, err := a.user(tx, co, person)
		if err != nil {
			return err
		}
		if u.State != ended && !again {
			return &jobs.RuleError{Says: "end their access first: whoever still works here is not erased"}
		}
		if a.erasing != nil && !again {
			if err := a.erasing(co, person); err != nil {
				return err
			}
		}
		for _, row := range []any{&pinRow{}, &browserRow{}, &refreshRow{}, &factorRow{}, &codeRow{}, &noticeWishRow{}, &noticeToldRow{}, &noticeOutRow{}} {
			if err := a.of(tx, co).Where("person = ?", person).Delete(row).Error; err != nil {
				return err
			}
		}
		if err := a.of(tx, co).Where("person = ?", person).Delete(&loginRow{}).Error; err != nil {
			return err
		}
		set := map[string]any{"name": jobs.Erased, "login": person, "password": "", "gen": gorm.Expr("gen + 1"), "state": ended}
		return a.of(tx, co).Model(&userRow{}).Where("person = ?", person).Updates(set).Error
	})
	if err != nil {
		return fmt.Errorf("erase a person: %w", err)
	}
	return a.tellPeople(ctx, co)
}

// EndedBefore lists the people whose access ended before a time and who are not erased yet.
func (a *Accounts) EndedBefore(ctx context.Context, co string, before time.Time) ([]User, error) {
	var rows []userRow
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		return a.of(tx, co).Where("state = ? AND ended_ms < ? AND name <> ?", ended, before.UnixMilli(), jobs.Erased).Order("person").Find(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("list whose access ended: %w", err)
	}
	list := make([]User, len(rows))
	for i, r := range rows {
		list[i] = r.user()
	}
	return list, nil
}
