package api

import (
	"context"
	"log/slog"
	"net/netip"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/middleware/recover"

	"tacet/server/accounts"
	"tacet/server/live"
	"tacet/server/ops"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// Time limits. A phone in a basement may take minutes for a photo; a request that is in takes seconds.
const (
	readTimeout    = 3 * time.Minute
	writeTimeout   = 3 * time.Minute
	idleTimeout    = time.Minute
	requestTimeout = 30 * time.Second
	failTimeout    = 5 * time.Second // for the page that says what went wrong
	headerBytes    = 16 << 10
)

// Deps is what a server is made of.
type Deps struct {
	Replica  *replica.Replica
	Store    replica.Store
	Blobs    replica.Blobs
	Accounts *accounts.Accounts
	Log      *slog.Logger
	Now      func() time.Time
	Secure   bool                        // browsers reach this server over TLS
	Proxies  []netip.Prefix              // whose word about the address of a request is taken
	Ready    func(context.Context) error // why the server can't serve, nil if it can
	Metrics  *ops.Metrics                // nil for none
	Live     *live.Hub                   // nil for none
}

// Server serves the protocol and carries the pages.
type Server struct {
	App       *fiber.App
	replica   *replica.Replica
	store     replica.Store
	blobs     replica.Blobs
	accounts  *accounts.Accounts
	log       *slog.Logger
	now       func() time.Time
	secure    bool
	proxies   []netip.Prefix
	ready     func(context.Context) error
	metrics   *ops.Metrics
	live      *live.Hub
	pageFail  func(*fiber.Ctx, error) error // shows a person what went wrong; nil until pages are mounted
	takeAlong TakeAlong                     // what phones keep of a job; nil until pages are mounted
	key       []byte
	keyID     string

	describe    sync.Once
	openAPI     []byte
	describeErr error
}

// New returns a server with all routes of the protocol; pages are added by [Server.Mount].
func New(d Deps) *Server {
	key := d.Accounts.Keys().RecordPublic()
	s := &Server{replica: d.Replica, store: d.Store, blobs: d.Blobs, accounts: d.Accounts, log: d.Log, now: d.Now, secure: d.Secure, proxies: d.Proxies,
		ready: d.Ready, metrics: d.Metrics, live: d.Live, key: key, keyID: wire.KeyID(key)}
	s.App = fiber.New(fiber.Config{
		AppName:               "tacet",
		DisableStartupMessage: true,
		// Without it a string taken from a request changes under whoever keeps it, as soon as the next request comes.
		Immutable: true,
		// Bodies are streams, cut off by body.go where the route says; so that one that is too large gets an answer instead of a reset.
		StreamRequestBody:            true,
		DisablePreParseMultipartForm: true,
		BodyLimit:                    formBody,
		ReadBufferSize:               headerBytes,
		ReadTimeout:                  readTimeout,
		WriteTimeout:                 writeTimeout,
		IdleTimeout:                  idleTimeout,
		ErrorHandler:                 s.fail,
	})
	s.App.Use(s.logRequest, recover.New(recover.Config{EnableStackTrace: true, StackTraceHandler: s.logPanic}), drain, SecureHeaders, s.serverHeaders, deadline)
	s.register()
	return s
}

// deadline gives each request its own context. That of the connection is no use: it does not end when the other side goes away, and
// ends for all when the server is asked to stop, though those under way may finish.
func deadline(c *fiber.Ctx) error {
	ctx, cancel := context.WithTimeout(context.Background(), requestTimeout)
	defer cancel()
	c.SetUserContext(ctx)
	return c.Next()
}
