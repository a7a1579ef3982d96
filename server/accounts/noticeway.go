package accounts

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"net/mail"
	"net/url"
	"strings"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/acoustics"
	"tacet/jobs"
)

// How a mail server is spoken to. There is no way without TLS: what is sent says where somebody's home is being worked on.
const (
	StartTLS = "starttls" // a plain connection that must turn to TLS before anything is said
	WholeTLS = "tls"      // TLS from the first byte
)

// MailServer is the server that a firm sends mail by.
type MailServer struct {
	Host     string
	Port     int
	TLS      string
	Sender   string // address
	Login    string
	Password string // as given; what was kept is read by [Accounts.NoticeWays] alone
}

// NoticeWays is how a firm sends news.
type NoticeWays struct {
	Mail     MailServer // none without a Host
	Hook     string     // address that is called; empty for none
	HookKey  []byte     // signs the calls
	Kinds    []string   // what the calls tell of
	NamesJob bool       // whether mails name the job, which is mostly the address of somebody's home
}

// NoticeWays returns how a firm sends news, with its secrets: for whoever sends, never for a page.
func (a *Accounts) NoticeWays(ctx context.Context, co string) (NoticeWays, error) {
	var row noticeWayRow
	err := a.read(ctx, co, func(tx *gorm.DB) error { return a.of(tx, co).Take(&row).Error })
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return NoticeWays{}, nil
	}
	if err != nil {
		return NoticeWays{}, fmt.Errorf("look for the ways of notices: %w", err)
	}
	w := NoticeWays{Mail: MailServer{Host: row.Host, Port: row.Port, TLS: row.TLS, Sender: row.Sender, Login: row.Login}, Hook: row.Hook, Kinds: strings.Fields(row.Kinds), NamesJob: row.NamesJob != 0}
	if len(row.Password) > 0 {
		if w.Mail.Password, err = unsealWith(a.Keys().notice, co+" mail "+row.Host, row.Password); err != nil {
			return NoticeWays{}, fmt.Errorf("open the password of the mail server: %w", err)
		}
	}
	if len(row.HookKey) > 0 {
		key, err := unsealWith(a.Keys().notice, co+" hook", row.HookKey)
		if err != nil {
			return NoticeWays{}, fmt.Errorf("open the key of the calls: %w", err)
		}
		w.HookKey = []byte(key)
	}
	return w, nil
}

// SetMailServer keeps the server that a firm sends mail by; one without a host ends it. Without a password the one before stays, but only
// for the same host and login: else whoever may change the host could have it sent to a server of their own.
func (a *Accounts) SetMailServer(ctx context.Context, co string, m MailServer, namesJob bool) error {
	m.Host, m.Sender, m.Login = strings.ToLower(strings.TrimSpace(m.Host)), strings.TrimSpace(m.Sender), strings.TrimSpace(m.Login)
	if m.Host == "" {
		m = MailServer{}
	} else if err := m.check(); err != nil {
		return err
	}
	return a.changeWays(ctx, co, func(row *noticeWayRow) error {
		same := row.Host == m.Host && row.Login == m.Login
		row.Host, row.Port, row.TLS, row.Sender, row.Login, row.NamesJob = m.Host, m.Port, m.TLS, m.Sender, m.Login, 0
		if namesJob {
			row.NamesJob = 1
		}
		switch {
		case m.Login == "":
			row.Password = nil
		case m.Password != "":
			sealed, err := a.sealWith(a.Keys().notice, co+" mail "+m.Host, m.Password)
			if err != nil {
				return err
			}
			row.Password = sealed
		case !same || len(row.Password) == 0:
			return &acoustics.InputError{Field: "password", Value: "missing", Hint: "give the mail server's password; another server or login needs it again"}
		}
		return nil
	})
}

func (m MailServer) check() error {
	in := func(field, value, want string) error {
		return &acoustics.InputError{Field: field, Value: value, Range: want}
	}
	if !hostName(m.Host) {
		return in("host", fmt.Sprintf("%.80q", m.Host), "the name of a server, such as mail.example.org")
	}
	if m.Port < 1 || m.Port > 65535 {
		return in("port", fmt.Sprint(m.Port), "1 to 65535")
	}
	if m.TLS != StartTLS && m.TLS != WholeTLS {
		return in("tls", m.TLS, "one of starttls, tls")
	}
	if err := checkMail("sender", m.Sender); err != nil {
		return err
	}
	if len(m.Login) > 200 || len(m.Password) > 500 || strings.ContainsAny(m.Login+m.Password, "\r\n\x00") {
		return in("mail_login", "too long, or not one line", "up to 200 characters")
	}
	return nil
}

func hostName(s string) bool {
	return len(s) <= 253 && !strings.ContainsFunc(s, func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '.' && r != '-' && r != ':'
	})
}

// checkMail refuses what is not one plain address.
func checkMail(field, s string) error {
	p, err := mail.ParseAddress(s)
	if err != nil || p.Address != s || len(s) > 254 || strings.ContainsFunc(s, func(r rune) bool { return r <= ' ' || r >= 0x7f }) {
		return &acoustics.InputError{Field: field, Value: fmt.Sprintf("%.80q", s), Range: "a mail address, such as m.tolleby@example.org"}
	}
	return nil
}

// SetHook keeps the address that is called with news, and what of; an empty one ends it. The key is made with the first address, or when
// a fresh one is wanted; it is returned then, and never again.
func (a *Accounts) SetHook(ctx context.Context, co, address string, kinds []string, fresh bool) (key string, err error) {
	address = strings.TrimSpace(address)
	if address != "" {
		u, err := url.Parse(address)
		if err != nil || u.Scheme != "https" || u.Hostname() == "" || u.User != nil || u.Fragment != "" || len(address) > 500 {
			return "", &acoustics.InputError{Field: "hook", Value: fmt.Sprintf("%.80q", address), Range: "an address that begins with https://", Hint: "without a name and password in it"}
		}
	}
	err = a.changeWays(ctx, co, func(row *noticeWayRow) error {
		row.Hook, row.Kinds = address, strings.Join(kinds, " ")
		if address == "" {
			row.HookKey = nil
			return nil
		}
		if len(row.HookKey) > 0 && !fresh {
			return nil
		}
		secret, err := a.secret()
		if err != nil {
			return err
		}
		raw, err := base64.RawURLEncoding.DecodeString(secret)
		if err != nil {
			return err
		}
		key = base64.StdEncoding.EncodeToString(raw)
		row.HookKey, err = a.sealWith(a.Keys().notice, co+" hook", string(raw))
		return err
	})
	return key, err
}

func (a *Accounts) changeWays(ctx context.Context, co string, change func(*noticeWayRow) error) error {
	err := a.write(ctx, co, func(tx *gorm.DB) error {
		if err := tx.Clauses(clause.OnConflict{DoNothing: true}).Create(&noticeWayRow{Co: co}).Error; err != nil {
			return err
		}
		var row noticeWayRow
		if err := a.of(tx.Clauses(clause.Locking{Strength: clause.LockingStrengthUpdate}), co).Take(&row).Error; err != nil {
			return err
		}
		if err := change(&row); err != nil {
			return err
		}
		set := map[string]any{"host": row.Host, "port": row.Port, "tls": row.TLS, "sender": row.Sender, "login": row.Login, "password": row.Password,
			"hook": row.Hook, "hook_key": row.HookKey, "kinds": row.Kinds, "names_job": row.NamesJob}
		return a.of(tx, co).Model(&noticeWayRow{}).Updates(set).Error
	})
	var in *acoustics.InputError
	if err != nil && !errors.As(err, &in) && !errors.Is(err, jobs.ErrRefused) {
		return fmt.Errorf("keep the ways of notices: %w", err)
	}
	return err
}
