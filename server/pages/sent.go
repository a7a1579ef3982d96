package pages

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"sync"
	"time"
)

// forms keeps in mind which forms were recorded, so that one that comes twice is recorded once: a second tap without scripts, a
// browser that sends again what it got no answer to, the back button and another press. What was changed in between is another
// record. It is memory of one program and of an hour; somebody who fills in the same form anew means it.
type forms struct {
	mu  sync.Mutex
	had map[string]*formSent
}

type formSent struct {
	mu       sync.Mutex
	at       time.Time
	recorded bool
}

// remembered is for how long a form is kept in mind, and fewForms how many are before the old ones are looked for.
const (
	remembered = time.Hour
	fewForms   = 1000
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
	if s.recorded {
		return nil
	}
	if err := record(); err != nil {
		return err
	}
	s.recorded = true
	return nil
}

func (f *forms) find(now time.Time, key string) *formSent {
	f.mu.Lock()
	defer f.mu.Unlock()
	if s := f.had[key]; s != nil {
		return s
	}
	if len(f.had) >= fewForms {
		for k, s := range f.had {
			if now.Sub(s.at) > remembered {
				delete(f.had, k)
			}
		}
	}
	s := &formSent{at: now}
	if f.had == nil {
		f.had = map[string]*formSent{}
	}
	f.had[key] = s
	return s
}
