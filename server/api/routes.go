package api

import (
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
)

// route is one thing that is served. Who may use it stands here and nowhere else.
type route struct {
	method string
	path   string
	may    accounts.Action // "" for everybody
	handle fiber.Handler
}

func (s *Server) routes() []route {
	return []route{
		{"GET", "/v1/hello", "", s.getHello},
		{"POST", "/v1/enrol", "", s.postEnrol},
		{"POST", "/v1/sign-in", "", s.postSignIn},
		{"POST", "/v1/sign-in-pin", "", s.postSignInPin},
		{"POST", "/v1/refresh", "", s.postRefresh},
		{"POST", "/v1/devices/successor", "", s.postSuccessor},
		{"PUT", "/v1/pin", accounts.SyncRecords, s.putPin},
		{"GET", "/v1/people", accounts.SeePeople, s.getPeople},
		{"GET", "/v1/lanes", accounts.SyncRecords, s.getLanes},
		{"GET", "/v1/access", accounts.SyncRecords, s.getAccess},
		{"POST", "/v1/access", accounts.SyncRecords, s.postAccess},
		{"GET", "/v1/jobs/:job/history", accounts.SyncRecords, s.getHistory},
		{"POST", "/v1/push", accounts.SyncRecords, s.postPush},
		{"POST", "/v1/offer", accounts.SyncRecords, s.postOffer},
		{"POST", "/v1/aside", "", s.postAside},
		{"GET", "/v1/pull", accounts.SyncRecords, s.getPull},
		{"GET", "/v1/live", accounts.SyncRecords, s.getLive},
		{"PUT", "/v1/jobs/:job/photos/:sha", accounts.SyncRecords, s.putPhoto},
		{"GET", "/v1/jobs/:job/photos/:sha", accounts.SyncRecords, s.getPhoto},
		{"GET", "/v1/take-along", accounts.SyncRecords, s.getTakeAlongList},
		{"GET", "/v1/jobs/:job/take-along", accounts.SyncRecords, s.getTakeAlong},
		{"GET", "/healthz", "", s.getHealth},
		{"GET", "/readyz", "", s.getReady},
		{"GET", "/openapi.json", "", s.getOpenAPI},
	}
}

// Rule says who may use a route.
type Rule struct {
	Method, Path string
	Open         bool        // for everybody, known or not
	Roles        []jobs.Role // of devices that carry a token
}

// Rules is the table of all routes of the protocol. Those of the pages stand at the pages.
func (s *Server) Rules() []Rule {
	var list []Rule
	for _, r := range s.routes() {
		list = append(list, Rule{Method: r.method, Path: r.path, Open: r.may == "", Roles: accounts.RolesOf(r.may)})
	}
	return list
}

func (s *Server) register() {
	for _, r := range s.routes() {
		var handlers []fiber.Handler
		if strings.HasPrefix(r.path, "/v1/") {
			handlers = append(handlers, protocol)
		}
		if r.may != "" {
			handlers = append(handlers, s.device(r.may))
		}
		s.App.Add(r.method, r.path, append(handlers, r.handle)...)
	}
}

// Mount hangs pages in: register adds their routes, and fail shows people what could not be answered. Pages ask [Server.Visitor] who
// it is; what is posted to them comes from one of them.
func (s *Server) Mount(register func(fiber.Router), fail func(*fiber.Ctx, error) error) {
	s.pageFail = fail
	register(s.App.Group("/", SameSite, wholeForm))
}
