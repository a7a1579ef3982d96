package notice

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"net/url"
	"time"

	"github.com/wneessen/go-mail"

	"tacet/server/accounts"
)

// mailTime bounds the whole talk with a mail server.
const mailTime = 25 * time.Second

// send hands one letter to the mail server.
func (n *Notices) send(ctx context.Context, m accounts.MailServer, l letter) error {
	ctx, cancel := context.WithTimeout(ctx, mailTime)
	defer cancel()
	msg := mail.NewMsg(mail.WithNoDefaultUserAgent())
	if err := msg.From(m.Sender); err != nil {
		return err
	}
	if err := msg.To(l.to); err != nil {
		return err
	}
	host := "tacet.invalid"
	if u, err := url.Parse(n.host); err == nil && u.Hostname() != "" {
		host = u.Hostname()
	}
	msg.Subject(l.subject)
	msg.SetDateWithValue(l.made)
	// The same for every try, so that mail programs can tell a repetition.
	msg.SetMessageIDWithValue(l.id + "@" + host)
	msg.SetGenHeader("Auto-Submitted", "auto-generated")
	if l.stop != "" {
		// RFC 8058: one press in the mail program is enough.
		msg.SetGenHeader(mail.HeaderListUnsubscribe, "<"+l.stop+">")
		msg.SetGenHeader(mail.HeaderListUnsubscribePost, "List-Unsubscribe=One-Click")
	}
	msg.SetBodyString(mail.TypeTextPlain, l.text)

	secure := &tls.Config{ServerName: m.Host, MinVersion: tls.VersionTLS12, RootCAs: n.roots}
	auth, dial := mail.SMTPAuthAutoDiscover, n.dialer().DialContext
	options := []mail.Option{mail.WithPort(m.Port), mail.WithTimeout(connectTime), mail.WithHELO(host), mail.WithTLSConfig(secure)}
	if m.TLS == accounts.WholeTLS {
		// With a way of connecting of our own, the library leaves TLS to it, and takes the connection for a plain one when it chooses how to
		// sign in; plain sign-in itself refuses where there is no TLS.
		options, auth = append(options, mail.WithSSL()), mail.SMTPAuthPlain
		dial = func(ctx context.Context, network, address string) (net.Conn, error) {
			return (&tls.Dialer{NetDialer: n.dialer(), Config: secure}).DialContext(ctx, network, address)
		}
	} else {
		options = append(options, mail.WithTLSPolicy(mail.TLSMandatory))
	}
	// The library leaves the connection open when TLS or signing in fails.
	var open net.Conn
	defer func() {
		if open != nil {
			open.Close() // closed already where all went well
		}
	}()
	options = append(options, mail.WithDialContextFunc(func(ctx context.Context, network, address string) (net.Conn, error) {
		c, err := dial(ctx, network, address)
		if err != nil {
			return nil, err
		}
		open = c
		// Nor does it stop waiting for a server that never greets.
		return c, c.SetDeadline(time.Now().Add(mailTime))
	}))
	if m.Login != "" {
		options = append(options, mail.WithSMTPAuth(auth), mail.WithUsername(m.Login), mail.WithPassword(m.Password))
	}
	client, err := mail.NewClient(m.Host, options...)
	if err != nil {
		return err
	}
	return client.DialAndSendWithContext(ctx, msg)
}

// refusedForGood tells whether a mail server said that it will never take this letter.
func refusedForGood(err error) bool {
	var s *mail.SendError
	return errors.As(err, &s) && !s.IsTemp() && s.ErrorCode() >= 500
}
