// Package noticetest is the other side of news, for tests: a mail server that speaks SMTP with STARTTLS over TCP and keeps what it is given.
package noticetest

import (
	"bufio"
	"crypto/tls"
	"fmt"
	"net"
	"strings"
	"sync"
	"testing"
)

// Mail is one letter as the server got it.
type Mail struct {
	From, To string
	Data     string // headers and text, with plain line ends
	Login    string // what was said to sign in, in base 64
}

// Mailbox is a mail server.
type Mailbox struct {
	Port int

	mu     sync.Mutex
	mails  []Mail
	answer string // to RCPT; empty takes it
	plain  bool   // does not offer TLS
	seen   []string
	tls    *tls.Config
}

// NewMailbox starts a mail server on this machine with a certificate.
func NewMailbox(t testing.TB, cert tls.Certificate) *Mailbox {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	m := &Mailbox{Port: l.Addr().(*net.TCPAddr).Port, tls: &tls.Config{MinVersion: tls.VersionTLS12, Certificates: []tls.Certificate{cert}}}
	var open sync.WaitGroup
	open.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			open.Go(func() { m.serve(c) })
		}
	})
	t.Cleanup(func() { l.Close(); open.Wait() })
	return m
}

// Answer lets the server refuse everybody with this line, or take letters again with an empty one.
func (m *Mailbox) Answer(line string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.answer = line
}

// WithoutTLS lets the server offer no TLS.
func (m *Mailbox) WithoutTLS() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.plain = true
}

// Mails are the letters that were taken.
func (m *Mailbox) Mails() []Mail {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]Mail(nil), m.mails...)
}

// Said are the words of all commands that came.
func (m *Mailbox) Said() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]string(nil), m.seen...)
}

func (m *Mailbox) serve(c net.Conn) {
	defer func() { c.Close() }()
	r := bufio.NewReader(c)
	say := func(line string) { fmt.Fprintf(c, "%s\r\n", line) }
	say("220 mailbox")
	var now Mail
	secure := false
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			return
		}
		line = strings.TrimSpace(line)
		word, rest, _ := strings.Cut(line, " ")
		word = strings.ToUpper(word)
		m.mu.Lock()
		m.seen = append(m.seen, word)
		answer, plain := m.answer, m.plain
		m.mu.Unlock()
		switch word {
		case "EHLO":
			say("250-mailbox")
			if secure {
				say("250 AUTH PLAIN")
			} else if plain {
				say("250 AUTH PLAIN LOGIN")
			} else {
				say("250 STARTTLS")
			}
		case "STARTTLS":
			say("220 go on")
			s := tls.Server(c, m.tls)
			c, r, secure = s, bufio.NewReader(s), true
		case "AUTH":
			now.Login = rest
			say("235 come in")
		case "MAIL":
			now.From = rest
			say("250 ok")
		case "RCPT":
			if answer != "" {
				say(answer)
				continue
			}
			now.To = rest
			say("250 ok")
		case "DATA":
			say("354 go on")
			var b strings.Builder
			for {
				line, err := r.ReadString('\n')
				if err != nil {
					return
				}
				if line == ".\r\n" {
					break
				}
				b.WriteString(strings.TrimSuffix(strings.TrimPrefix(line, "."), "\r\n") + "\n")
			}
			now.Data = b.String()
			m.mu.Lock()
			m.mails = append(m.mails, now)
			m.mu.Unlock()
			say("250 taken")
		case "QUIT":
			say("221 bye")
			return
		default:
			say("250 ok")
		}
	}
}
