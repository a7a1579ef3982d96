package accounts

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm"

	"tacet/acoustics"
	"tacet/jobs"
)

// User is a person of a company.
type User struct {
	Company string
	Person  string
	Login   string
	Name    string
	Role    jobs.Role
}

// AddUser makes a user. Logins are unique on the server and are kept in lower case; a missing Name is the login.
func (a *Accounts) AddUser(ctx context.Context, u User, password string) (User, error) {
	var err error
	if u.Login, err = readLogin(u.Login); err != nil {
		return User{}, err
	}
	if u.Name == "" {
		u.Name = u.Login
	}
	if u.Name, err = label("name", u.Name); err != nil {
		return User{}, err
	}
	if !slices.Contains(jobs.Roles(), u.Role) {
		return User{}, &acoustics.InputError{Field: "role", Value: string(u.Role), Range: "one of site, supervisor, office, owner"}
	}
	if err := CheckPassword(u.Login, password); err != nil {
		return User{}, err
	}
	if _, err := a.Company(ctx, u.Company); err != nil {
		return User{}, err
	}
	if u.Person, err = newID(); err != nil {
		return User{}, err
	}
	hash, err := a.hash(ctx, password)
	if err != nil {
		return User{}, fmt.Errorf("hash password: %w", err)
	}
	err = a.write(ctx, func(tx *gorm.DB) error {
		if err := tx.Create(&loginRow{Login: u.Login, Co: u.Company, Person: u.Person}).Error; err != nil {
			return err
		}
		return tx.Create(&userRow{Co: u.Company, Person: u.Person, Login: u.Login, Name: u.Name, Role: string(u.Role),
			Password: hash, State: active, MadeMS: a.ms()}).Error
	})
	if errors.Is(err, gorm.ErrDuplicatedKey) {
		return User{}, &acoustics.InputError{Field: "login", Value: u.Login, Hint: "someone on this server has it already; choose another"}
	}
	if err != nil {
		return User{}, fmt.Errorf("add user: %w", err)
	}
	return u, a.tellPeople(ctx, u.Company)
}

// SetPassword gives a user another password and ends what they signed in to with the old one: browsers at once, devices when their access
// token runs out, at most [AccessLife] later. A device that must go at once is revoked.
func (a *Accounts) SetPassword(ctx context.Context, login, password string) error {
	u, err := a.userByLogin(a.db.WithContext(ctx), login)
	if err != nil {
		return err
	}
	if err := CheckPassword(u.Login, password); err != nil {
		return err
	}
	hash, err := a.hash(ctx, password)
	if err != nil {
		return fmt.Errorf("hash password: %w", err)
	}
	err = a.write(ctx, func(tx *gorm.DB) error {
		if err := a.of(tx, u.Co).Model(&userRow{}).Where("person = ?", u.Person).Update("password", hash).Error; err != nil {
			return err
		}
		if err := a.of(tx, u.Co).Where("person = ?", u.Person).Delete(&browserRow{}).Error; err != nil {
			return err
		}
		return a.of(tx, u.Co).Model(&refreshRow{}).Where("person = ? AND ended_ms IS NULL", u.Person).Update("ended_ms", a.ms()).Error
	})
	if err != nil {
		return fmt.Errorf("set password of %s: %w", u.Login, err)
	}
	return nil
}

// EndUser takes a person's access away: nothing they signed in with works from the next request on.
func (a *Accounts) EndUser(ctx context.Context, login string) error {
	u, err := a.userByLogin(a.db.WithContext(ctx), login)
	if err != nil {
		return err
	}
	err = a.write(ctx, func(tx *gorm.DB) error {
		return a.of(tx, u.Co).Model(&userRow{}).Where("person = ?", u.Person).Update("state", ended).Error
	})
	if err != nil {
		return fmt.Errorf("end access of %s: %w", u.Login, err)
	}
	return nil
}

// Users lists the people of a company by name.
func (a *Accounts) Users(ctx context.Context, co string) ([]User, error) {
	var rows []userRow
	if err := a.of(a.db.WithContext(ctx), co).Order("name, person").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	list := make([]User, len(rows))
	for i, r := range rows {
		list[i] = r.user()
	}
	return list, nil
}

// NameOf is the name of a person of a company, "" if it is not known.
func (a *Accounts) NameOf(ctx context.Context, co, person string) (string, error) {
	u, err := a.user(a.db.WithContext(ctx), co, person)
	if errors.Is(err, jobs.ErrNotFound) {
		return "", nil
	}
	return u.Name, err
}

// UserByLogin finds a user by login.
func (a *Accounts) UserByLogin(ctx context.Context, login string) (User, error) {
	r, err := a.userByLogin(a.db.WithContext(ctx), login)
	if err != nil {
		return User{}, err
	}
	return r.user(), nil
}

func (a *Accounts) userByLogin(tx *gorm.DB, login string) (userRow, error) {
	l, err := readLogin(login)
	if err != nil {
		return userRow{}, err
	}
	var at loginRow
	if err := tx.Where("login = ?", l).Take(&at).Error; err != nil {
		return userRow{}, missing(err, "login "+l)
	}
	return a.user(tx, at.Co, at.Person)
}

func (a *Accounts) user(tx *gorm.DB, co, person string) (userRow, error) {
	var r userRow
	if err := a.of(tx, co).Where("person = ?", person).Take(&r).Error; err != nil {
		return userRow{}, missing(err, "person "+person)
	}
	return r, nil
}

func (r userRow) user() User {
	return User{Company: r.Co, Person: r.Person, Login: r.Login, Name: r.Name, Role: jobs.Role(r.Role)}
}

// readLogin checks a login and puts it into lower case.
func readLogin(s string) (string, error) {
	l := strings.ToLower(strings.TrimSpace(s))
	ok := len(l) >= 1 && len(l) <= 64 && !strings.ContainsFunc(l, func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9') && !strings.ContainsRune("._-@+", r)
	})
	if !ok {
		if len(l) > 64 {
			l = l[:64]
		}
		return "", &acoustics.InputError{Field: "login", Value: fmt.Sprintf("%q", l), Range: "1 to 64 of a-z, 0-9 and . _ - @ +"}
	}
	return l, nil
}
