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
	"tacet/sync/replica"
)

// User is a person of a company.
type User struct {
	Company string
	Person  string
	Login   string
	Name    string
	Role    jobs.Role
	Ended   bool // access was taken away
}

// AddUser makes a user. Logins are unique on the server and are kept in lower case; a missing Name is the login.
func (a *Accounts) AddUser(ctx context.Context, u User, password string) (User, error) {
	if err := a.checkUser(&u, password); err != nil {
		return User{}, err
	}
	firm, err := a.Company(ctx, u.Company)
	if err != nil {
		return User{}, err
	}
	if common(password, u.Login, u.Name, firm.Name) {
		return User{}, errCommon()
	}
	if u.Person, err = newID(); err != nil {
		return User{}, err
	}
	hash, err := a.hash(ctx, password)
	if err != nil {
		return User{}, fmt.Errorf("hash password: %w", err)
	}
	err = a.write(ctx, u.Company, func(tx *gorm.DB) error {
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

// checkUser checks what a new user is to be, and puts it in order.
func (a *Accounts) checkUser(u *User, password string) (err error) {
	if u.Login, err = readLogin(u.Login); err != nil {
		return err
	}
	if u.Name == "" {
		u.Name = u.Login
	}
	if u.Name, err = label("name", u.Name); err != nil {
		return err
	}
	if !slices.Contains(jobs.Roles(), u.Role) {
		return &acoustics.InputError{Field: "role", Value: string(u.Role), Range: "one of site, supervisor, office, owner"}
	}
	return CheckPassword(u.Login, password)
}

// checkNew checks the password that a user is to get, against the names of person and firm too.
func (a *Accounts) checkNew(ctx context.Context, u userRow, password string) error {
	if err := CheckPassword(u.Login, password); err != nil {
		return err
	}
	firm, err := a.Company(ctx, u.Co)
	if err != nil {
		return err
	}
	if common(password, u.Login, u.Name, firm.Name) {
		return errCommon()
	}
	return nil
}

// SetPassword gives a user another password and ends, from the next request on, all that they signed in to with the old one: browsers,
// devices, and the PINs on them.
func (a *Accounts) SetPassword(ctx context.Context, login, password string) error {
	u, err := a.userByLogin(ctx, login)
	if err != nil {
		return err
	}
	if err := a.checkNew(ctx, u, password); err != nil {
		return err
	}
	hash, err := a.hash(ctx, password)
	if err != nil {
		return fmt.Errorf("hash password: %w", err)
	}
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		set := map[string]any{"password": hash, "gen": gorm.Expr("gen + 1")}
		if err := a.of(tx, u.Co).Model(&userRow{}).Where("person = ?", u.Person).Updates(set).Error; err != nil {
			return err
		}
		if err := a.of(tx, u.Co).Where("person = ?", u.Person).Delete(&pinRow{}).Error; err != nil {
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
	u, err := a.userByLogin(ctx, login)
	if err != nil {
		return err
	}
	another := func(tx *gorm.DB) error {
		if jobs.Role(u.Role) == jobs.Owner && u.State == active {
			return a.anotherOwner(tx, u.Co, u.Person)
		}
		return nil
	}
	// Said before it is done: what is said is done at the next start, if this is cut off.
	if err := a.write(ctx, u.Co, another); err != nil {
		return fmt.Errorf("end access of %s: %w", u.Login, err)
	}
	if err := a.declare(ctx, u.Co, replica.Access{What: replica.AccessPerson, ID: u.Person}); err != nil {
		return err
	}
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		if err := another(tx); err != nil {
			return err
		}
		if err := a.of(tx, u.Co).Where("person = ?", u.Person).Delete(&browserRow{}).Error; err != nil {
			return err
		}
		err := a.of(tx, u.Co).Model(&refreshRow{}).Where("person = ? AND ended_ms IS NULL", u.Person).Update("ended_ms", a.ms()).Error
		if err != nil {
			return err
		}
		// Their mail address was for news alone.
		if err := a.of(tx, u.Co).Where("person = ?", u.Person).Delete(&noticeWishRow{}).Error; err != nil {
			return err
		}
		return a.of(tx, u.Co).Model(&userRow{}).Where("person = ?", u.Person).Updates(map[string]any{"state": ended, "ended_ms": a.ms()}).Error
	})
	if err != nil {
		return fmt.Errorf("end access of %s: %w", u.Login, err)
	}
	return nil
}

// Reinstate gives a person back the access that was taken away. What they had signed in to stays ended.
func (a *Accounts) Reinstate(ctx context.Context, login string) error {
	u, err := a.userByLogin(ctx, login)
	if err != nil {
		return err
	}
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		if u.Name == jobs.Erased {
			return &jobs.RuleError{Says: "who this was is erased; add them anew"}
		}
		set := map[string]any{"state": active, "ended_ms": nil, "gen": gorm.Expr("gen + 1")}
		return a.of(tx, u.Co).Model(&userRow{}).Where("person = ?", u.Person).Updates(set).Error
	})
	if err != nil {
		return fmt.Errorf("give access back to %s: %w", u.Login, err)
	}
	return a.declare(ctx, u.Co, replica.Access{What: replica.AccessPerson, ID: u.Person, May: true})
}

// SetRole gives a person another role, from the next request on. A firm keeps at least one owner.
func (a *Accounts) SetRole(ctx context.Context, co, person string, role jobs.Role) error {
	if !slices.Contains(jobs.Roles(), role) {
		return &acoustics.InputError{Field: "role", Value: string(role), Range: "one of site, supervisor, office, owner"}
	}
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		u, err := a.user(tx, co, person)
		if err != nil {
			return err
		}
		if jobs.Role(u.Role) == jobs.Owner && role != jobs.Owner {
			if err := a.anotherOwner(tx, co, person); err != nil {
				return err
			}
		}
		return a.of(tx, co).Model(&userRow{}).Where("person = ?", person).Update("role", string(role)).Error
	})
	if err != nil {
		return fmt.Errorf("set role: %w", err)
	}
	return a.tellPeople(ctx, co)
}

// anotherOwner refuses what would leave a firm without an owner.
func (a *Accounts) anotherOwner(tx *gorm.DB, co, person string) error {
	var n int64
	err := a.of(tx, co).Model(&userRow{}).Where("person <> ? AND role = ? AND state = ?", person, string(jobs.Owner), active).Count(&n).Error
	if err != nil {
		return err
	}
	if n == 0 {
		return &jobs.RuleError{Says: "this is the firm's only owner; make somebody else one first"}
	}
	return nil
}

// Users lists the people of a company by name.
func (a *Accounts) Users(ctx context.Context, co string) ([]User, error) {
	var rows []userRow
	err := a.read(ctx, co, func(tx *gorm.DB) error { return a.of(tx, co).Order("name, person").Find(&rows).Error })
	if err != nil {
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
	u, err := a.person(ctx, co, person)
	if errors.Is(err, jobs.ErrNotFound) {
		return "", nil
	}
	return u.Name, err
}

// UserByLogin finds a user by login.
func (a *Accounts) UserByLogin(ctx context.Context, login string) (User, error) {
	r, err := a.userByLogin(ctx, login)
	if err != nil {
		return User{}, err
	}
	return r.user(), nil
}

func (a *Accounts) userByLogin(ctx context.Context, login string) (userRow, error) {
	l, err := readLogin(login)
	if err != nil {
		return userRow{}, err
	}
	var at loginRow
	err = a.read(ctx, everyone, func(tx *gorm.DB) error { return tx.Where("login = ?", l).Take(&at).Error })
	if err != nil {
		return userRow{}, missing(err, "login "+l)
	}
	return a.person(ctx, at.Co, at.Person)
}

func (a *Accounts) person(ctx context.Context, co, person string) (r userRow, err error) {
	err = a.read(ctx, co, func(tx *gorm.DB) error {
		r, err = a.user(tx, co, person)
		return err
	})
	return r, err
}

func (a *Accounts) user(tx *gorm.DB, co, person string) (userRow, error) {
	var r userRow
	if err := a.of(tx, co).Where("person = ?", person).Take(&r).Error; err != nil {
		return userRow{}, missing(err, "person "+person)
	}
	return r, nil
}

func (r userRow) user() User {
	return User{Company: r.Co, Person: r.Person, Login: r.Login, Name: r.Name, Role: jobs.Role(r.Role), Ended: r.State == ended}
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

// User finds a person of a company.
func (a *Accounts) User(ctx context.Context, co, person string) (User, error) {
	r, err := a.person(ctx, co, person)
	if err != nil {
		return User{}, err
	}
	return r.user(), nil
}

// Confirm checks the password of somebody who has signed in already, before something that opens doors.
func (a *Accounts) Confirm(ctx context.Context, w Who, password, address string) error {
	_, err := a.checkPassword(ctx, w.Login, password, w.Device, address)
	return err
}
