package app_test

import (
	"errors"
	"io"
	"math/rand/v2"
	"net"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// badLine is what a connection through the proxy suffers: nothing beyond its bytes is known to it.
type badLine struct {
	up, down int64         // bytes after which it is cut, in each direction; below 0: never
	abrupt   bool          // cut by a reset, not by an end
	stall    time.Duration // how long it stands still before it is cut
	rate     int           // bytes a second in each direction; 0: as fast as can be
	portal   bool          // whatever is asked is answered with a page to sign in on, and 200
}

// proxy stands between devices and a server and does to each connection what plan says.
type proxy struct {
	net.Listener
	target string
	plan   func(draw *rand.Rand) badLine
	bytes  atomic.Int64 // carried, both ways
	vain   atomic.Int64 // of these, what was on its way when the line was cut: it goes again
	cuts   atomic.Int64
}

func newProxy(t *testing.T, server string, seed uint64, plan func(draw *rand.Rand) badLine) *proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &proxy{Listener: l, target: strings.TrimPrefix(server, "http://"), plan: plan}
	t.Cleanup(func() { l.Close() })
	go func() {
		draw := rand.New(rand.NewPCG(seed, 1))
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go p.carry(c, plan(draw))
		}
	}()
	return p
}

func (p *proxy) url() string { return "http://" + p.Addr().String() }

const portalPage = "<html><title>Welcome</title><p>Accept the terms to go on the internet.</html>"

func (p *proxy) carry(c net.Conn, line badLine) {
	defer c.Close()
	if line.portal {
		p.cuts.Add(1)
		_, _ = c.Read(make([]byte, 4096))
		_, _ = io.WriteString(c, "HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nConnection: close\r\n\r\n"+portalPage)
		return
	}
	s, err := net.Dial("tcp", p.target)
	if err != nil {
		return
	}
	defer s.Close()
	ended := make(chan error, 2)
	var up, down atomic.Int64 // since the last byte that came the other way
	go func() { ended <- p.copy(s, c, line.up, line.rate, &up, &down) }()
	go func() { ended <- p.copy(c, s, line.down, line.rate, &down, &up) }()
	if err := <-ended; !errors.Is(err, errCut) {
		return
	}
	p.cuts.Add(1)
	time.Sleep(line.stall)
	if tcp, ok := c.(*net.TCPConn); ok && line.abrupt {
		_ = tcp.SetLinger(0)
	}
}

var errCut = errors.New("cut")

// copy carries bytes until it is to be cut.
func (p *proxy) copy(to, from net.Conn, cut int64, rate int, on, back *atomic.Int64) error {
	buf := make([]byte, 1024)
	for {
		n, err := from.Read(buf)
		if cut >= 0 && int64(n) >= cut {
			n, err = int(cut), errCut
		}
		if cut >= 0 {
			cut -= int64(n)
		}
		if rate > 0 {
			time.Sleep(time.Duration(n) * time.Second / time.Duration(rate))
		}
		p.bytes.Add(int64(n))
		back.Store(0)
		if here := on.Add(int64(n)); errors.Is(err, errCut) {
			p.vain.Add(here)
		}
		if _, werr := to.Write(buf[:n]); werr != nil {
			return werr
		}
		if err != nil {
			return err
		}
	}
}
