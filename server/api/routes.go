package api

import (
	"github.com/gofiber/fiber/v2"

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
		{"POST", "/v1/refresh", "", s.postRefresh},
		{"GET", "/v1/people", accounts.SeePeople, s.getPeople},
		{"GET", "/v1/lanes", accounts.SyncRecords, s.getLanes},
		{"POST", "/v1/push", accounts.SyncRecords, s.postPush},
		{"GET", "/v1/pull", accounts.SyncRecords, s.getPull},
		{"PUT", "/v1/jobs/:job/photos/:sha", accounts.SyncRecords, s.putPhoto},
		{"GET", "/v1/jobs/:job/photos/:sha", accounts.SyncRecords, s.getPhoto},
		{"GET", "/healthz", "", s.getHealth},
		{"GET", "/readyz", "", s.getReady},
		{"GET", "/openapi.json", "", s.getOpenAPI},
		{"GET", "/s/:code", "", s.getSheet},
		{"GET", "/sign-in", "", s.getSignIn},
		{"POST", "/sign-in", "", s.postBrowserSignIn},
		{"POST", "/sign-out", "", s.postBrowserSignOut},
	}
}

func (s *Server) register() {
	for _, r := range s.routes() {
		handlers := []fiber.Handler{SameSite}
		if len(r.path) > 3 && r.path[:4] == "/v1/" {
			handlers = []fiber.Handler{protocol}
		}
		if r.may != "" {
			handlers = append(handlers, s.device(r.may))
		}
		s.App.Add(r.method, r.path, append(handlers, r.handle)...)
	}
}

// Pages is where pages are hung in: everything below it is for someone who has signed in with a browser, may see pages, and posts from
// a page of this server.
func (s *Server) Pages() fiber.Router {
	return s.App.Group("/", SameSite, s.browser, wholeForm)
}
