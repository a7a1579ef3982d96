package pages

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"
)

// forms keeps in mind which forms were taken, so that one that comes twice is taken once: a second tap without scripts, a
// browser that sends again what it got no answer to, the back button and another press. What was changed in between is another
// record. It is memory of one program and of an hour; somebody who fills in the same form anew means it.
type forms struct {
	mu  sync.Mutex
	had map[string]*formSent
}

type formSent struct {
	mu    sync.Mutex
	until time.Time
	done  bool
	reply formReply // of a whole form
}

// formReply is the answer to a form that was taken: where it led, or the page that shows what was made.
type formReply struct {
	to   string
	page []byte
}

// remembered is for how long a form is kept in mind. A page that shows a secret is, for a second tap and no longer.
const (
	remembered  = time.Hour
	secondTapIn = time.Minute
)

// newFormKey is what a form has in it to be known by.
func newFormKey() string { return rand.Text() }

// once runs record unless the same form was recorded with the same content. While a first one is being recorded, a second waits for
// how that ends.
func (f *forms) once(now time.Time, who, key string, content []json.RawMessage, record func() error) error {
	if key == "" {
		return record() // no form of these pages
	}
	h := sha256.New()
	fmt.Fprintf(h, "%q %q %q", who, key, content)
	s := f.find(now, string(h.Sum(nil)))
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.done {
		return nil
	}
	if err := record(); err != nil {
		return err
	}
	s.done = true
	return nil
}

// taken lets a form change something once, whatever it changes: whoever sends it again gets the answer that the first one got. A form with
// photos is another one each time it is sent; what it records is recorded once all the same.
func (v *visit) taken(handle func(*visit) error) error {
	key := string(v.c.Request().PostArgs().Peek("form"))
	if v.c.Method() != fiber.MethodPost || v.page.Open || key == "" {
		return handle(v)
	}
	h := sha256.New()
	fmt.Fprintf(h, "%q %q %q %q", v.who.Person, v.c.OriginalURL(), key, v.c.Body())
	s := v.sent.find(v.deps.Now(), string(h.Sum(nil)))
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.done && s.reply.page != nil:
		v.c.Set(fiber.HeaderCacheControl, "no-store")
		v.c.Set(fiber.HeaderContentType, fiber.MIMETextHTMLCharsetUTF8)
		return v.c.Send(s.reply.page)
	case s.done:
		return v.see(s.reply.to)
	}
	if err := handle(v); err != nil {
		return err
	}
	reply := v.c.Response()
	switch {
	case v.madeSecret:
		s.done, s.reply.page, s.until = true, bytes.Clone(reply.Body()), v.deps.Now().Add(secondTapIn)
	case reply.StatusCode() == fiber.StatusSeeOther:
		s.done, s.reply.to = true, string(reply.Header.Peek(fiber.HeaderLocation))
	}
	return nil
}

func (f *forms) find(now time.Time, key string) *formSent {
	f.mu.Lock()
	defer f.mu.Unlock()
	for k, s := range f.had {
		if now.After(s.until) {
			delete(f.had, k)
		}
	}
	if s := f.had[key]; s != nil {
		return s
	}
	s := &formSent{until: now.Add(remembered)}
	if f.had == nil {
		f.had = map[string]*formSent{}
	}
	f.had[key] = s
	return s
}
