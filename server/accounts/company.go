package accounts

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"gorm.io/gorm"

	"tacet/acoustics"
)

// Company is a firm on this server.
type Company struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// AddCompany makes a company. The server itself becomes one of its devices, so that what is recorded on the server's pages has a lane.
func (a *Accounts) AddCompany(ctx context.Context, name string) (Company, error) {
	name, err := label("name", name)
	if err != nil {
		return Company{}, err
	}
	id, err := newID()
	if err != nil {
		return Company{}, err
	}
	err = a.write(ctx, id, func(tx *gorm.DB) error {
		return tx.Create(&companyRow{Co: id, Name: name, MadeMS: a.ms()}).Error
	})
	if err != nil {
		return Company{}, fmt.Errorf("add company: %w", err)
	}
	return Company{ID: id, Name: name}, a.tellServer(ctx, id)
}

// Companies lists the companies by name.
func (a *Accounts) Companies(ctx context.Context) ([]Company, error) {
	var rows []companyRow
	err := a.read(ctx, everyone, func(tx *gorm.DB) error { return tx.Order("name, co").Find(&rows).Error })
	if err != nil {
		return nil, fmt.Errorf("list companies: %w", err)
	}
	list := make([]Company, len(rows))
	for i, r := range rows {
		list[i] = Company{ID: r.Co, Name: r.Name}
	}
	return list, nil
}

// Company returns one company.
func (a *Accounts) Company(ctx context.Context, id string) (Company, error) {
	var r companyRow
	if err := a.read(ctx, id, func(tx *gorm.DB) error { return a.of(tx, id).Take(&r).Error }); err != nil {
		return Company{}, missing(err, "company "+id)
	}
	return Company{ID: r.Co, Name: r.Name}, nil
}

// label is a name that people gave: one line of readable text.
func label(field, s string) (string, error) {
	s = strings.TrimSpace(s)
	n := utf8.RuneCountInString(s)
	bad := !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f })
	if bad || n == 0 || n > 100 {
		value := fmt.Sprintf("%d characters long", n)
		switch {
		case bad:
			value = "not one line of text"
		case n == 0:
			value = "empty"
		}
		return "", &acoustics.InputError{Field: field, Value: value, Range: "1 to 100", Unit: "characters"}
	}
	return s, nil
}
