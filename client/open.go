package main

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strconv"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/middleware/recover"

	"tacet/client/home"
	"tacet/client/runner"
	"tacet/jobs"
	"tacet/server/api"
	"tacet/server/commandline"
	"tacet/server/live"
	"tacet/server/pages"
	"tacet/sync/archive"
	"tacet/sync/pause"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

type openCmd struct {
	Listen string `default:"127.0.0.1:7411" help:"Address on this machine; port 0 takes a free one." placeholder:"ADDR"`
}

// Run serves the pages to the browser of this machine until stopped.
func (c *openCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error { return servePages(s, h, c.Listen) })
}

// Limits of the local pages.
const (
	formBytes = 64 << 20 // a form with a few photos
	stopTime  = 5 * time.Second
)

// local is the pages of one home in this machine's browser. Whoever follows the address that was printed gets a cookie;
// without it nobody on this machine, and no page of any site, sees or records anything.
type local struct {
	home   *home.Home
	log    *slog.Logger
	key    string // in the address
	cookie string // name: cookies know no ports, so each home's has its own
	pass   string // its value
	live   *live.Hub

	shared bool // people have PINs here
	mu     sync.Mutex
	holder home.Holder // who gave theirs
	held   string      // the value of their cookie; empty while nobody has
	until  time.Time   // unused
}

// lockAfter is how long a shared device stays open for somebody who does nothing.
const lockAfter = 10 * time.Minute

// servePages prints the address, once ready, and serves until ctx ends.
func servePages(s *session, h *home.Home, listen string) error {
	if err := onThisMachine(listen); err != nil {
		return err
	}
	ln, err := net.Listen("tcp", listen)
	if err != nil {
		return &jobs.InputError{Field: "--listen", Value: listen, Hint: "it can't be used: " + lastOf(err)}
	}
	port := ln.Addr().(*net.TCPAddr).Port
	l := &local{home: h, log: slog.New(slog.NewTextHandler(s.Err, nil)), key: rand.Text(), pass: rand.Text() + rand.Text(), cookie: "tacet_" + strconv.Itoa(port), live: live.New(live.Config{})}
	if l.shared, err = h.Shared(); err != nil {
		return errors.Join(err, ln.Close())
	}
	run := runner.New(h.Sync, func(line string) { fmt.Fprintln(s.Err, line) })
	run.News, run.Position = h.News, h.Position
	l.live.AnnounceMore(h.Me.Company)
	h.Store.OnCommit(func(company string, _ int64) { l.live.AnnounceMore(company) })
	app := l.app()
	ended := make(chan error, 1)
	go func() { ended <- app.Listener(ln) }()
	if _, err := fmt.Fprintf(s.Out, "http://%s/open?key=%s\n", ln.Addr(), l.key); err != nil {
		return errors.Join(err, app.Shutdown())
	}
	fmt.Fprintf(s.Err, "Open that address in a browser on this machine. The record is in %s. Ctrl-C stops; nothing is lost.\n", h.Dir)
	ctx, stop := context.WithCancel(s.ctx)
	var background sync.WaitGroup
	if h.Enrolled() {
		background.Go(func() {
			// A device that was cut off goes on recording: what it would say has been said, and the pages show it.
			_ = run.Run(ctx)
		})
		background.Go(func() { sendWhatComes(ctx, h, run) })
	}
	select {
	case <-s.ctx.Done():
		l.live.Close()
		err = app.ShutdownWithTimeout(stopTime)
		if errors.Is(err, context.DeadlineExceeded) {
			err = nil // a page was cut off; what it had recorded is saved
		}
	case err = <-ended:
	}
	stop()
	background.Wait()
	return err
}

// lookEvery is how often the pages' program looks for what was recorded, by itself or by a command beside it.
const lookEvery = 2 * time.Second

// sendWhatComes asks for an exchange as soon as something new waits to be sent. What could not be sent before is left to
// the loop and its pauses.
func sendWhatComes(ctx context.Context, h *home.Home, run *runner.Runner) {
	seen := 0
	for pause.For(ctx, lookEvery) {
		entries, photos, _, err := h.Replica.Waiting(ctx, h.Me.Company)
		if err != nil {
			continue // the store is busy; the loop itself reports what does not go away
		}
		if waiting := entries + photos; waiting != seen {
			if waiting > seen {
				run.Now()
			}
			seen = waiting
		}
	}
}

// onThisMachine refuses addresses that others can reach: the pages know no passwords.
func onThisMachine(listen string) error {
	host, _, err := net.SplitHostPort(listen)
	if err == nil && wire.Loopback(host) {
		return nil
	}
	return &jobs.InputError{Field: "--listen", Value: strconv.Quote(listen), Range: "an address of this machine alone, such as 127.0.0.1:7411",
		Hint: "others see the pages on the company's server"}
}

// lastOf is the innermost error: what the system said.
func lastOf(err error) string {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err.Error()
		}
		err = inner
	}
}

// app puts the pages behind the door.
func (l *local) app() *fiber.App {
	deps := pages.Deps{
		Program: pages.Client,
		Version: commandline.Version(),
		Record:  l.home.Replica,
		Blobs:   l.home.Blobs,
		Who:     l.who,
		Name: func(ctx context.Context, _, person string) string {
			names, err := l.home.Names(ctx)
			if err != nil {
				return "" // the page then shows the beginning of the id
			}
			return names[person]
		},
		Whole: func(ctx context.Context, company, job string) (archive.Content, error) {
			return archive.Collect(ctx, l.home.Store, company, job)
		},
		Zone:      time.Local,
		SheetHost: sheetHost(l.home.Me),
		Link:      l.link,
		Live:      l.live,
		Sync:      l.sync(),
		Log:       l.log,
	}
	if l.shared {
		deps.SignIn, deps.SignOut, deps.Pin = l.unlock, l.lock, true
	}
	p := pages.New(deps)
	app := fiber.New(fiber.Config{
		AppName:               "tacet",
		DisableStartupMessage: true,
		Immutable:             true, // or a string of one request changes with the next
		BodyLimit:             formBytes,
		ReadTimeout:           time.Minute,
		IdleTimeout:           time.Minute,
		ErrorHandler:          func(c *fiber.Ctx, err error) error { return p.Fail(c, err) },
	})
	app.Use(recover.New(), api.OnlyLoopback, api.SameSite, api.SecureHeaders)
	app.Get("/open", l.open)
	p.Register(app)
	app.Use(p.NotFound)
	return app
}

// open takes the key of the address for a cookie and sends the browser on, so that the key does not stay in sight.
func (l *local) open(c *fiber.Ctx) error {
	if subtle.ConstantTimeCompare([]byte(c.Query("key")), []byte(l.key)) != 1 {
		return replica.ErrSignIn
	}
	c.Cookie(&fiber.Cookie{Name: l.cookie, Value: l.pass, Path: "/", HTTPOnly: true, SameSite: fiber.CookieSameSiteStrictMode})
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Redirect("/", fiber.StatusSeeOther)
}

// who is the person of this home, for whoever has the cookie. It is read anew each time: somebody may sign in meanwhile.
func (l *local) who(c *fiber.Ctx) (pages.Visitor, error) {
	if subtle.ConstantTimeCompare([]byte(c.Cookies(l.cookie)), []byte(l.pass)) != 1 {
		return pages.Visitor{}, replica.ErrSignIn
	}
	me, err := l.home.Store.Active(c.UserContext())
	if err != nil {
		return pages.Visitor{}, err
	}
	if me.Company != l.home.Me.Company || me.Device != l.home.Me.Device {
		return pages.Visitor{}, &jobs.InputError{Field: "home", Value: "another company's now", Hint: "it joined a company meanwhile; stop this program and start it again"}
	}
	if l.shared {
		h, err := l.present(c)
		if err != nil {
			return pages.Visitor{}, err
		}
		me.Person, me.Role = h.Person, h.Role
	}
	names, err := l.home.Names(c.UserContext())
	if err != nil {
		return pages.Visitor{}, err
	}
	return pages.Visitor{Company: me.Company, Firm: l.home.FirmName(), Person: me.Person, Name: names[me.Person], Role: me.Role}, nil
}

// unlock opens the pages for whoever gives their PIN, in the browser that was opened with the printed address.
func (l *local) unlock(c *fiber.Ctx, login, pin string) error {
	if subtle.ConstantTimeCompare([]byte(c.Cookies(l.cookie)), []byte(l.pass)) != 1 {
		return &replica.Refusal{Err: replica.ErrSignIn, Says: "open these pages with the address that the program printed when it started"}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	h, err := l.home.Unlock(login, pin, time.Now())
	if err != nil {
		return err
	}
	l.holder, l.held, l.until = h, rand.Text()+rand.Text(), time.Now().Add(lockAfter)
	c.Cookie(&fiber.Cookie{Name: l.cookie + "_holder", Value: l.held, Path: "/", HTTPOnly: true, SameSite: fiber.CookieSameSiteStrictMode})
	return nil
}

// lock closes the pages until somebody gives a PIN.
func (l *local) lock(*fiber.Ctx) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.holder, l.held = home.Holder{}, ""
	return nil
}

// present is who holds a shared device now.
func (l *local) present(c *fiber.Ctx) (home.Holder, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := time.Now()
	if l.held == "" || now.After(l.until) || subtle.ConstantTimeCompare([]byte(c.Cookies(l.cookie+"_holder")), []byte(l.held)) != 1 {
		return home.Holder{}, replica.ErrSignIn
	}
	l.until = now.Add(lockAfter)
	return l.holder, nil
}

// link says how the last exchange went, whichever process made it.
func (l *local) link(ctx context.Context) pages.Link {
	warn, err := l.home.Warnings(ctx)
	if err != nil {
		return pages.Link{State: pages.LinkTrouble, Says: err.Error()}
	}
	if !l.home.Enrolled() {
		return pages.Link{State: pages.LinkAlone, Warn: warn}
	}
	c, err := l.home.Contact()
	if err != nil {
		return pages.Link{State: pages.LinkTrouble, Says: err.Error()}
	}
	states := map[string]pages.LinkState{
		home.ContactDone: pages.LinkDone, home.ContactOffline: pages.LinkOffline, home.ContactSignIn: pages.LinkSignIn,
		home.ContactRevoked: pages.LinkCutOff, home.ContactOld: pages.LinkOld, home.ContactTrouble: pages.LinkTrouble,
	}
	state, tried := states[c.State]
	if !tried {
		state = pages.LinkSending // the first exchange is on its way
	}
	return pages.Link{State: state, Checked: c.Done, Says: c.Says, Warn: warn}
}

// sync exchanges at once. It is nil, and the pages offer no button, where there is no server.
func (l *local) sync() func(context.Context) error {
	if !l.home.Enrolled() {
		return nil
	}
	return func(ctx context.Context) error {
		_, err := l.home.Sync(ctx)
		return err
	}
}
