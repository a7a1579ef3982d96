package api

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/store"
	"tacet/sync/wire"
)

// fail is where every error ends: the table of sync/wire says how it is answered. What is not in the table is logged here, once, and
// answered with an id and nothing else, because inner text helps only an attacker.
func (s *Server) fail(c *fiber.Ctx, err error) error {
	err = store.Explain(err)
	if s.pageFail != nil && wantsPage(c) {
		return s.showFailure(c, err)
	}
	var status *fiber.Error
	var p wire.Problem
	if errors.As(err, &status) {
		p = plainProblem(status.Code)
	} else {
		var known bool
		if p, known = wire.ProblemOf(err); !known || p.Status >= http.StatusInternalServerError {
			p.InstanceID = requestID(c)
			s.log.Error("request failed", "request", p.InstanceID, "status", p.Status, "error", err.Error())
		}
	}
	c.Set(wire.HeaderServer, s.keyID) // also where the request did not get as far as the routes
	if p.RetryAfter > 0 {
		c.Set(fiber.HeaderRetryAfter, strconv.Itoa(p.RetryAfter))
	}
	if p.Status == http.StatusUnauthorized && strings.HasPrefix(c.Path(), "/v1/") {
		c.Set(fiber.HeaderWWWAuthenticate, `Bearer realm="tacet"`)
	}
	// Whoever has this page open must not see an old error where a job would be.
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Status(p.Status).JSON(p, wire.MediaProblem)
}

// logPanic keeps where a handler broke; what it answers is up to fail.
func (s *Server) logPanic(c *fiber.Ctx, value any) {
	s.log.Error("panic", "request", requestID(c), "value", fmt.Sprint(value), "stack", string(debug.Stack()))
}

// showFailure hands to the pages what a person is to see. They log what is not in the table, so it is not logged here.
func (s *Server) showFailure(c *fiber.Ctx, err error) error {
	var status *fiber.Error
	if errors.As(err, &status) && (status.Code == http.StatusNotFound || status.Code == http.StatusMethodNotAllowed) {
		err = jobs.ErrNotFound
	}
	// The request's own context ended with its handlers, and the page has yet to ask who is signed in.
	ctx, cancel := context.WithTimeout(context.Background(), failTimeout)
	defer cancel()
	c.SetUserContext(ctx)
	return s.pageFail(c, err)
}

// plainProblem is for what HTTP itself refuses: no such path, wrong method, a header too large.
func plainProblem(code int) wire.Problem {
	if code == http.StatusBadGateway || code < 400 {
		code = http.StatusBadRequest // fiber's word for a connection that broke while the request was read
	}
	if code >= http.StatusInternalServerError {
		return wire.Problem{Type: "/problems/internal", Title: http.StatusText(code), Status: code}
	}
	return wire.Problem{Type: "about:blank", Title: http.StatusText(code), Status: code}
}

// wantsPage tells whether a person sits in front of the answer.
func wantsPage(c *fiber.Ctx) bool {
	return !strings.HasPrefix(c.Path(), "/v1/") && strings.Contains(c.Get(fiber.HeaderAccept), "text/html")
}

func requestID(c *fiber.Ctx) string {
	if id, ok := c.Locals(localRequest).(string); ok {
		return id
	}
	id := rand.Text()
	c.Locals(localRequest, id)
	return id
}
