package pages

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"net/url"
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// visit is one request for a page.
type visit struct {
	*Pages
	c    *fiber.Ctx
	ctx  context.Context
	page Page
	who  Visitor
	// later tells that what is made is read on another day, without a signal.
	later bool
	// madeSecret tells that the answer shows something that is shown once.
	madeSecret bool

	at int64 // how far the record went when the page was begun
}

var (
	errForeign = errors.New("the form was sent from another site; open the page again and send it from there")
	errNotAll  = errors.New("this page tells of all jobs of the firm, and some are not given to you")
)

// notYours is the error of a page that the role of the visitor may not open; it names the roles that may.
type notYours []jobs.Role

func (roles notYours) Error() string {
	var who []string
	for _, r := range roles {
		who = append(who, map[jobs.Role]string{jobs.Site: "the site team", jobs.Supervisor: "supervisors", jobs.Office: "the office", jobs.Owner: "owners"}[r])
	}
	return "this page is for " + jobs.JoinWords(who)
}

// clock is a moment as it is read: with today's in short, but where it may be read on another day.
func (v *visit) clock(t time.Time) string {
	if v.later {
		return v.when(t)
	}
	return v.Pages.clock(t)
}

// param is a part of the path.
func (v *visit) param(name string) string {
	s, err := url.PathUnescape(v.c.Params(name))
	if err != nil {
		return v.c.Params(name)
	}
	return s
}

// job is the job that the path names. Guests are not shown what people said.
func (v *visit) job() (*jobs.Job, error) {
	j, err := v.deps.Record.Job(v.ctx, v.who.Company, v.param("job"))
	if err != nil || v.who.Guest == "" {
		return j, err
	}
	return j.WithoutWords(), nil
}

// surface is the job and the surface that the path names.
func (v *visit) surface() (*jobs.Job, *jobs.Surface, error) {
	j, err := v.job()
	if err != nil {
		return nil, nil, err
	}
	s := j.Surface(v.param("surface"))
	if s == nil {
		return nil, nil, jobs.ErrNotFound
	}
	return j, s, nil
}

// layer is the job, the surface and the layer that the path names.
func (v *visit) layer() (*jobs.Job, *jobs.Surface, *jobs.Layer, error) {
	j, s, err := v.surface()
	if err != nil {
		return nil, nil, nil, err
	}
	n, err := strconv.Atoi(v.param("layer"))
	if err != nil || s.Layer(n) == nil {
		return nil, nil, nil, jobs.ErrNotFound
	}
	return j, s, s.Layer(n), nil
}

// record records edge objects of a job in one go.
func (v *visit) record(job string, edges ...map[string]any) error {
	raw := make([]json.RawMessage, len(edges))
	for i, e := range edges {
		b, err := json.Marshal(e)
		if err != nil {
			return err
		}
		raw[i] = b
	}
	return v.sent.once(v.deps.Now(), v.who.Person, v.c.FormValue("form"), raw, func() error {
		_, err := v.deps.Record.Record(v.ctx, v.who.Company, v.who.Author(), job, raw)
		return err
	})
}

// see sends the browser to another page.
func (v *visit) see(path string) error { return v.c.Redirect(path, fiber.StatusSeeOther) }

// fail answers with the page for an error. Only what is not in the table of errors is logged, here and nowhere else.
func (v *visit) fail(err error) error {
	view := failView{}
	status := fiber.StatusInternalServerError
	var routed *fiber.Error // no such page, too large, and the like
	var busy working
	var others notYours
	switch {
	case errors.As(err, &busy):
		return v.wait(busy)
	case errors.As(err, &routed) && routed.Code < fiber.StatusInternalServerError:
		status, view.Says = routed.Code, routedWords(routed.Code)
	case errors.Is(err, errForeign), errors.As(err, &others), errors.Is(err, errNotAll):
		status, view.Says = fiber.StatusForbidden, sentence(err.Error())
	case errors.Is(err, replica.ErrSignIn) && v.deps.SignIn != nil:
		next := ""
		if v.c.Method() == fiber.MethodGet {
			next = "?next=" + url.QueryEscape(v.c.OriginalURL())
		}
		return v.see("/sign-in" + next)
	case errors.Is(err, replica.ErrSignIn):
		status, view.Says = fiber.StatusUnauthorized, "Open these pages with the address that the program printed when it started."
	case isNotFound(err):
		status, view.Says = fiber.StatusNotFound, "Nothing has this address. What was recorded elsewhere may not have arrived here yet."
	default:
		problem, known := wire.ProblemOf(err)
		status, view.Says = problem.Status, sentence(problem.Title)
		if problem.Detail != "" {
			view.Says = sentence(problem.Detail)
		}
		if !known {
			view.Number = rand.Text()[:10]
			v.deps.Log.Error("page", "instance", view.Number, "route", v.c.Route().Path, "err", err)
		}
	}
	view.Answer = failAnswer(status)
	view.frame = v.frame(view.Answer)
	v.c.Status(status)
	return v.show("fail", view)
}

func routedWords(status int) string {
	switch status {
	case fiber.StatusNotFound:
		return "No page has this address."
	case fiber.StatusRequestEntityTooLarge:
		return "What was sent is too large. Send fewer photos at once."
	}
	return "Go back and try again."
}

func failAnswer(status int) string {
	switch status {
	case fiber.StatusNotFound:
		return "There is nothing here."
	case fiber.StatusForbidden:
		return "This can't be done from here."
	case fiber.StatusUnauthorized:
		return "Nobody is signed in."
	case fiber.StatusInternalServerError:
		return "Something went wrong here."
	}
	return "That did not work."
}

// failView is the page for what could not be answered.
type failView struct {
	frame
	Answer string
	Says   string
	Number string // of the line in the log
}

func isNotFound(err error) bool {
	return errors.Is(err, jobs.ErrNotFound) || errors.Is(err, replica.ErrNoJob)
}

// plainly says an error that a program handed in: by the table of errors, or by a sentence without inner text.
func plainly(err error) string {
	problem, known := wire.ProblemOf(err)
	if !known {
		return "it did not work; everything is kept"
	}
	if problem.Detail != "" {
		return problem.Detail
	}
	return problem.Title
}
