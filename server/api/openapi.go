package api

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"regexp"
	"strings"

	"github.com/gofiber/fiber/v2"
)

//go:embed openapi.json
var protocolJSON []byte

// getOpenAPI serves the description of everything that is served: the protocol as it is written down in openapi.json, and the pages,
// which the app knows better than any file.
func (s *Server) getOpenAPI(c *fiber.Ctx) error {
	s.describe.Do(func() { s.openAPI, s.describeErr = s.withPages(protocolJSON) })
	if s.describeErr != nil {
		return s.describeErr
	}
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	return c.Send(s.openAPI)
}

// withPages adds the routes that protocol does not describe and that are no part of /v1/. One below /v1/ must be described by hand.
func (s *Server) withPages(protocol []byte) ([]byte, error) {
	var doc map[string]any
	if err := json.Unmarshal(protocol, &doc); err != nil {
		return nil, fmt.Errorf("read openapi.json: %w", err)
	}
	paths, ok := doc["paths"].(map[string]any)
	if !ok {
		return nil, fmt.Errorf("openapi.json has no paths")
	}
	for _, r := range s.App.GetRoutes(true) {
		path, params := openPath(r.Path)
		if r.Method == fiber.MethodHead || strings.HasPrefix(path, "/v1/") {
			continue
		}
		item, _ := paths[path].(map[string]any)
		if item == nil {
			item = map[string]any{}
			paths[path] = item
		}
		method := strings.ToLower(r.Method)
		if item[method] == nil {
			item[method] = pageOperation(params, r.Method)
		}
	}
	return json.MarshalIndent(doc, "", " ")
}

func pageOperation(params []string, method string) map[string]any {
	list := make([]any, len(params))
	for i, p := range params {
		list[i] = map[string]any{"name": p, "in": "path", "required": true, "schema": map[string]any{"type": "string"}}
	}
	summary := "A page for a person who has signed in with a browser"
	answers := map[string]any{"200": map[string]any{"description": "The page, or a file for it."}}
	if method != fiber.MethodGet {
		summary = "A form of that page, posted from it"
		answers = map[string]any{"303": map[string]any{"description": "Done; where to go on."}}
	}
	answers["default"] = map[string]any{"description": "A page that says what is wrong."}
	return map[string]any{"summary": summary, "tags": []any{"pages"}, "security": []any{}, "parameters": list, "responses": answers}
}

var routeParam = regexp.MustCompile(`:(\w+)\??`)

// openPath writes a route of the app as OpenAPI does: /jobs/:job/:n.svg becomes /jobs/{job}/{n}.svg.
func openPath(route string) (path string, params []string) {
	for _, m := range routeParam.FindAllStringSubmatch(route, -1) {
		params = append(params, m[1])
	}
	return routeParam.ReplaceAllString(route, "{$1}"), params
}
