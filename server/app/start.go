package app

import (
	"cmp"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"sync"
	"time"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/api"
	"tacet/server/commandline"
	"tacet/server/live"
	"tacet/server/notice"
	"tacet/server/ops"
	"tacet/server/pages"
	"tacet/sync/pause"
	"tacet/sync/photo"
	"tacet/sync/replica"
)

// stopTime is how long requests under way may take to finish once the server is asked to stop.
const stopTime = 8 * time.Second

// Config says what to serve and where.
type Config struct {
	Folder
	Listen  string // address; port 0 takes a free one
	TLSCert string // PEM file; with TLSKey the server speaks TLS itself
	TLSKey  string
	Secure  bool           // TLS ends at a proxy before this server, so cookies are for TLS only
	Proxies []netip.Prefix // proxies whose word about the address of a request is taken
	Public  string         // address by which others know the server; the codes on sheets lead there
	Factor  string         // whether supervisors, office and owners must have a second factor: "required", "offered", or empty: required with TLS
	Metrics string         // loopback address for metrics; empty for none
	Notices NoticeConfig
	Live    LiveConfig
	Log     *slog.Logger // nil for none
	Forget  ForgetConfig
	Quota   int64 // bytes of photos that are kept of each company; 0 for no limit
}

// NoticeConfig says how news may be sent.
type NoticeConfig struct {
	Private bool           // also to addresses inside the server's own network
	Roots   *x509.CertPool // who may vouch for the other side; nil for those that the system trusts
	Every   time.Duration  // between two looks at what there is to tell; zero for the usual
}

// Running is a server that serves.
type Running struct {
	URL      string
	Replica  *replica.Replica
	Accounts *accounts.Accounts
	Store    replica.Store
	Blobs    replica.Blobs

	server *api.Server
	live   *live.Hub
	house  *house
	ended  chan error

	stopTidy func()

	MetricsAddress string // where metrics are served; empty for nowhere
	stopMetrics    func() error

	// SetUpCode sets the server up while it has no company; empty on any other.
	SetUpCode string
}

// Start opens the folder, brings the database up to date and serves. It returns once connections are taken.
func Start(ctx context.Context, c Config) (*Running, error) {
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	certificate, err := c.certificate()
	if err != nil {
		return nil, err
	}
	h, err := c.Folder.openFor(ctx, c.Quota)
	if err != nil {
		return nil, err
	}
	r := &Running{Replica: h.replica, Accounts: h.accounts, Store: h.store, Blobs: h.blobs, house: h, ended: make(chan error, 1)}
	if err := r.serve(ctx, c, certificate); err != nil {
		return nil, errors.Join(err, h.close())
	}
	return r, nil
}

func (r *Running) serve(ctx context.Context, c Config, certificate *tls.Certificate) error {
	news, err := r.house.replay(ctx, c.ledger())
	if err != nil {
		return err
	}
	if news > 0 {
		c.Log.Warn("the ledger of access knew more than the database", "statements", news)
	}
	if erased, err := r.house.replayErasures(ctx, c.erasures()); err != nil {
		return err
	} else if erased > 0 {
		c.Log.Warn("the ledger knew of more that was erased than the database", "erased_again", erased)
	}
	if err := r.Accounts.Reconcile(ctx); err != nil {
		return err
	}
	if err := r.house.dropErased(ctx); err != nil {
		return err
	}
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("listen: %w", err)
	}
	scheme := "http"
	if certificate != nil {
		scheme = "https"
		listener = tls.NewListener(listener, &tls.Config{MinVersion: tls.VersionTLS12, Certificates: []tls.Certificate{*certificate}})
	} else if !c.Secure && !onLoopback(listener.Addr()) {
		// Passwords and cookies would cross the network readable by anybody on it.
		return errors.Join(listener.Close(), &acoustics.InputError{Field: "--listen", Value: c.Listen, Range: "an address of this machine only, such as 127.0.0.1:8443", Hint: "beyond it give --tls-cert and --tls-key, or --behind-tls where a proxy in front speaks TLS"})
	}
	r.URL = scheme + "://" + listener.Addr().String()
	if err := noteServing(c.Dir, ops.Local(scheme, listener.Addr().String())); err != nil {
		return errors.Join(err, listener.Close())
	}
	var metrics *ops.Metrics
	if c.Metrics != "" {
		metrics = ops.NewMetrics(commandline.Version())
		var err error
		if r.MetricsAddress, r.stopMetrics, err = serveMetrics(c.Metrics, metrics, c.Log); err != nil {
			return errors.Join(err, listener.Close())
		}
	}
	across := r.news(c)
	r.server = api.New(api.Deps{
		Replica: r.Replica, Store: r.Store, Blobs: r.Blobs, Accounts: r.Accounts, Log: c.Log, Now: time.Now,
		Secure:  certificate != nil || c.Secure,
		Proxies: c.Proxies, Ready: r.house.ready, Metrics: metrics, Live: r.live,
	})
	notices := r.notices(c)
	mountPages(r.server, r.house, c, notices, r.live)
	r.tidy(c, metrics, notices, across)
	if err := r.firstRun(ctx); err != nil {
		return errors.Join(err, listener.Close())
	}
	go func() { r.ended <- r.server.App.Listener(listener) }()
	return nil
}

// knownAs is the address by which others know the server that listens at a URL.
func (c Config) knownAs(url string) string { return cmp.Or(c.Public, url) }

// notices are the news of this server; links in them lead to its public address.
func (r *Running) notices(c Config) *notice.Notices {
	return notice.New(notice.Config{Accounts: r.Accounts, Record: r.Replica, Link: pages.LinkTo, Host: c.knownAs(r.URL), Zone: time.Local, Now: time.Now, Private: c.Notices.Private, Roots: c.Notices.Roots, Log: c.Log})
}

// tidy forgets what is old, now and every hour, and tells people what waits for them, until the server stops.
func (r *Running) tidy(c Config, metrics *ops.Metrics, notices *notice.Notices, across *live.Across) {
	log := c.Log
	ctx, cancel := context.WithCancel(context.Background())
	var done sync.WaitGroup
	r.stopTidy = func() { cancel(); done.Wait() }
	if metrics != nil {
		done.Go(func() { r.watchOpen(ctx, metrics, log) })
	}
	if across != nil {
		done.Go(func() { across.Run(ctx) })
	}
	done.Go(func() { notices.Run(ctx, cmp.Or(c.Notices.Every, notice.RoundEvery)) })
	done.Go(func() { r.Accounts.KeepFresh(ctx, func(err error) { log.Error("keys", "error", err.Error()) }) })
	done.Go(func() { r.tidyPhotos(ctx, log) })
	done.Go(func() { r.forgetDaily(ctx, cmp.Or(c.Forget.Every, forgetEvery), c.Forget.Now, log) })
	done.Go(func() {
		for going := true; going; going = pause.For(ctx, accounts.TidyEvery) {
			if err := r.Accounts.Tidy(ctx); err != nil && ctx.Err() == nil {
				log.Error("tidy up", "error", err.Error())
			}
		}
	})
}

// tidyPhotos forgets what was begun and never went on, and warns early when the disk fills up.
func (r *Running) tidyPhotos(ctx context.Context, log *slog.Logger) {
	dir := photo.NewDir(r.house.folder.photos())
	for going := true; going; going = pause.For(ctx, accounts.TidyEvery) {
		if err := dir.Tidy(time.Now()); err != nil {
			log.Error("tidy photos", "error", err.Error())
		}
		if room := dir.Room(); room.Low() {
			log.Warn("little space is left for photos", "free_bytes", room.Free, "of_bytes", room.Of)
		}
	}
}

// firstRun makes the code with which a server without a company is set up.
func (r *Running) firstRun(ctx context.Context) error {
	fresh, err := r.Accounts.Fresh(ctx)
	if err != nil || !fresh {
		return err
	}
	r.SetUpCode, err = r.Accounts.SetUpCode(ctx)
	if errors.Is(err, jobs.ErrRefused) {
		return nil // another server on this database was set up this very moment
	}
	return err
}

// secondFactor tells whether those who can release, specify or manage people must have a second factor. Where the server is reached over
// TLS it may stand on the internet, and a password alone is not enough; on one machine, for trying out, it is only offered.
func (c Config) secondFactor() bool {
	switch c.Factor {
	case "required":
		return true
	case "offered":
		return false
	}
	return c.Secure || c.TLSCert != ""
}

func (c Config) certificate() (*tls.Certificate, error) {
	switch {
	case c.TLSCert == "" && c.TLSKey == "":
		return nil, nil
	case c.TLSCert == "" || c.TLSKey == "":
		return nil, badFlag("--tls-cert and --tls-key", "only one of the two", "give both or neither")
	}
	pair, err := tls.LoadX509KeyPair(c.TLSCert, c.TLSKey)
	if err != nil {
		return nil, badFlag("--tls-cert and --tls-key", err.Error(), "")
	}
	return &pair, nil
}

// ready asks the database.
func (h *house) ready(ctx context.Context) error {
	db, err := h.store.DB().DB()
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "SELECT 1")
	return err
}

func onLoopback(a net.Addr) bool {
	t, ok := a.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}

// Ended tells how the server ended, if it does so by itself.
func (r *Running) Ended() <-chan error { return r.ended }

// Stop lets the requests under way finish, for at most ten seconds in all, and closes everything.
func (r *Running) Stop() error {
	r.live.Close() // streams would go on as long as they live
	err := r.server.App.ShutdownWithTimeout(stopTime)
	if errors.Is(err, context.DeadlineExceeded) {
		err = nil // what was cut off is taken back or was answered, as after a cut of the network
	}
	r.stopTidy()
	if r.stopMetrics != nil {
		err = errors.Join(err, r.stopMetrics())
	}
	return errors.Join(err, r.house.close())
}
