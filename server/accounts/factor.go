package accounts

import (
	"context"
	"crypto/aes"
	"crypto/cipher"
	"crypto/subtle"
	"encoding/base32"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
	"github.com/pquerna/otp/totp"
	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/acoustics"
	"tacet/jobs"
)

// A second factor is a code of six digits that an authenticator on the person's own phone shows, new every 30 s (RFC 6238 with SHA-1, the
// one kind that every such program knows). It is asked for with the password in a browser. On an enrolled device the device's key is the
// second factor already.
const (
	stepSeconds = 30
	stepsAside  = 1 // a clock may be one step off
)

// b32 is how authenticators write a secret.
var b32 = base32.StdEncoding.WithPadding(base32.NoPadding)

var factorOptions = hotp.ValidateOpts{Digits: otp.DigitsSix, Algorithm: otp.AlgorithmSHA1}

// WantsFactor tells whether a role is to have a second factor: whoever can release, specify, or manage people.
func WantsFactor(r jobs.Role) bool { return r != jobs.Site }

// NewFactor is what an authenticator is set up with.
type NewFactor struct {
	Secret string // base 32, to type
	URL    string // otpauth://…, to scan
}

// BeginFactor makes a secret for a person. It counts only once ConfirmFactor has seen a code made from it; until then the one before does.
func (a *Accounts) BeginFactor(ctx context.Context, w Who) (NewFactor, error) {
	firm, err := a.Company(ctx, w.Company)
	if err != nil {
		return NewFactor{}, err
	}
	var f NewFactor
	err = a.write(ctx, w.Company, func(tx *gorm.DB) error {
		row, err := a.factor(tx, w.Company, w.Person, true)
		if err != nil {
			return err
		}
		if row != nil && row.ConfirmedMS != nil {
			return &jobs.RuleError{Says: "a second factor is set up already; the owner can take it off"}
		}
		// One that was begun is shown again: a page that is opened twice must not make the first picture worthless.
		if row != nil {
			if f.Secret, err = a.unseal(row); err != nil {
				return err
			}
		}
		key, err := totp.Generate(totp.GenerateOpts{Issuer: "Tacet " + strings.ReplaceAll(firm.Name, ":", " "), AccountName: w.Login, Period: stepSeconds, Rand: a.rand, Secret: decoded(f.Secret)})
		if err != nil {
			return fmt.Errorf("make second factor: %w", err)
		}
		f.Secret, f.URL = key.Secret(), key.URL()
		if row != nil {
			return nil
		}
		sealed, err := a.seal(w.Company, w.Person, f.Secret)
		if err != nil {
			return err
		}
		return tx.Create(&factorRow{Co: w.Company, Person: w.Person, Sealed: sealed, MadeMS: a.ms()}).Error
	})
	if err != nil {
		return NewFactor{}, err
	}
	return f, nil
}

// decoded is the secret as bytes; nil lets a new one be drawn.
func decoded(secret string) []byte {
	if secret == "" {
		return nil
	}
	b, err := b32.DecodeString(secret)
	if err != nil {
		return nil
	}
	return b
}

// ConfirmFactor takes the first code and makes the second factor count. Other browsers of the person are signed out.
func (a *Accounts) ConfirmFactor(ctx context.Context, w Who, code, cookie, address string) error {
	account, from := accountSubject(w.Login, "factor"), addressSubject(address)
	if err := a.attempt(ctx, account, from); err != nil {
		return err
	}
	err := a.write(ctx, w.Company, func(tx *gorm.DB) error {
		row, err := a.factor(tx, w.Company, w.Person, true)
		if err != nil {
			return err
		}
		if row == nil {
			return jobs.ErrNotFound
		}
		if err := a.takeStep(tx, row, code); err != nil {
			return err
		}
		return a.of(tx, w.Company).Model(&factorRow{}).Where("person = ?", w.Person).Update("confirmed_ms", a.ms()).Error
	})
	if err != nil {
		return err
	}
	if err := a.succeeded(ctx, account, from); err != nil {
		return err
	}
	return a.EndSessions(ctx, w, cookie, "")
}

// DropFactor takes a person's second factor off, for an owner or operator who knows that the phone is lost: the person sets up a new one
// at the next sign-in. Their browsers are signed out.
func (a *Accounts) DropFactor(ctx context.Context, login string) error {
	u, err := a.userByLogin(ctx, login)
	if err != nil {
		return err
	}
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		if err := a.of(tx, u.Co).Where("person = ?", u.Person).Delete(&factorRow{}).Error; err != nil {
			return err
		}
		return a.of(tx, u.Co).Where("person = ?", u.Person).Delete(&browserRow{}).Error
	})
	if err != nil {
		return fmt.Errorf("take off the second factor of %s: %w", u.Login, err)
	}
	return nil
}

// Factors tells which people of a company have a second factor.
func (a *Accounts) Factors(ctx context.Context, co string) (map[string]bool, error) {
	var rows []factorRow
	err := a.read(ctx, co, func(tx *gorm.DB) error { return a.of(tx, co).Where("confirmed_ms IS NOT NULL").Find(&rows).Error })
	if err != nil {
		return nil, fmt.Errorf("list second factors: %w", err)
	}
	have := make(map[string]bool, len(rows))
	for _, r := range rows {
		have[r.Person] = true
	}
	return have, nil
}

// checkFactor asks for the code where the person has a second factor; what is wrong with it is counted like a wrong password. The refusal
// says the same as for a wrong password, so that nobody learns from it that the password was right.
func (a *Accounts) checkFactor(ctx context.Context, u userRow, code, address string) (bool, error) {
	account, from := accountSubject(u.Login, "factor"), addressSubject(address)
	var has bool
	err := a.read(ctx, u.Co, func(tx *gorm.DB) (err error) {
		has, err = a.hasFactor(tx, u.Co, u.Person)
		return err
	})
	if err != nil || !has {
		return false, err
	}
	if err := a.attempt(ctx, account, from); err != nil {
		return false, err
	}
	err = a.write(ctx, u.Co, func(tx *gorm.DB) error {
		row, err := a.factor(tx, u.Co, u.Person, true)
		if err != nil {
			return err
		}
		if row == nil || row.ConfirmedMS == nil {
			return errWrongPassword()
		}
		return a.takeStep(tx, row, code)
	})
	var bad *jobs.InputError
	if errors.As(err, &bad) {
		return false, errWrongPassword()
	}
	if err != nil {
		return false, err
	}
	return true, a.succeeded(ctx, account, from)
}

// takeStep accepts a code of now, or of a step beside it, that was not used before.
func (a *Accounts) takeStep(tx *gorm.DB, row *factorRow, code string) error {
	secret, err := a.unseal(row)
	if err != nil {
		return err
	}
	code = strings.ReplaceAll(strings.TrimSpace(code), " ", "")
	now, step := a.now().Unix()/stepSeconds, int64(-1)
	for s := now - stepsAside; s <= now+stepsAside; s++ {
		want, err := hotp.GenerateCodeCustom(secret, uint64(s), factorOptions)
		if err != nil {
			return fmt.Errorf("compute code: %w", err)
		}
		if subtle.ConstantTimeCompare([]byte(want), []byte(code)) == 1 && s > row.LastStep {
			step = s
		}
	}
	if step < 0 {
		return &acoustics.InputError{Field: "code", Value: "not the one that is shown now", Hint: "wait for the next one; is the phone's clock right?"}
	}
	return a.of(tx, row.Co).Model(&factorRow{}).Where("person = ?", row.Person).Update("last_step", step).Error
}

func (a *Accounts) hasFactor(tx *gorm.DB, co, person string) (bool, error) {
	row, err := a.factor(tx, co, person, false)
	return row != nil && row.ConfirmedMS != nil, err
}

func (a *Accounts) factor(tx *gorm.DB, co, person string, lock bool) (*factorRow, error) {
	if lock {
		tx = tx.Clauses(clause.Locking{Strength: clause.LockingStrengthUpdate})
	}
	var row factorRow
	err := a.of(tx, co).Where("person = ?", person).Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("look for second factor: %w", err)
	}
	return &row, nil
}

// seal encrypts a secret for one person: a row that is copied to another person's opens nothing.
func (a *Accounts) seal(co, person, secret string) ([]byte, error) {
	return a.sealWith(a.Keys().factor, co+" "+person, secret)
}

func (a *Accounts) unseal(row *factorRow) (string, error) {
	secret, err := unsealWith(a.Keys().factor, row.Co+" "+row.Person, row.Sealed)
	if err != nil {
		return "", fmt.Errorf("open second factor: %w", err)
	}
	return secret, nil
}

// sealWith encrypts a secret with a key that is not in the database. It opens again only for what it was sealed for.
func (a *Accounts) sealWith(key []byte, of, secret string) ([]byte, error) {
	c, err := sealer(key)
	if err != nil {
		return nil, err
	}
	nonce := make([]byte, c.NonceSize())
	if _, err := io.ReadFull(a.rand, nonce); err != nil {
		return nil, fmt.Errorf("draw a nonce: %w", err)
	}
	return c.Seal(nonce, nonce, []byte(secret), []byte(of)), nil
}

func unsealWith(key []byte, of string, sealed []byte) (string, error) {
	c, err := sealer(key)
	if err != nil {
		return "", err
	}
	if len(sealed) < c.NonceSize() {
		return "", errors.New("what the database has is damaged")
	}
	secret, err := c.Open(nil, sealed[:c.NonceSize()], sealed[c.NonceSize():], []byte(of))
	return string(secret), err
}

func sealer(key []byte) (cipher.AEAD, error) {
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	return cipher.NewGCM(block)
}
