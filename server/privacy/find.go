package privacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

// Desk is where people's questions about their data are answered.
type Desk struct {
	Record   *replica.Replica
	Accounts *accounts.Accounts
	Blobs    replica.Blobs
	Now      func() time.Time
	Read     func() error // called after each job that was read; ends the search where it fails. nil where nobody counts
}

// Subject is whom a question is about: a person with an account, by id, or anybody whom some words name. At least one is set.
type Subject struct {
	Person string
	Words  string
}

// MinWords is the least that is searched for: less finds half the firm.
const MinWords = 3

// File is all that is held about a person.
type File struct {
	Subject Subject
	Account *accounts.User
	Devices []accounts.Device
	Guests  []accounts.Guest
	Looks   []accounts.Look
	Lines   []Line
}

// Line is one record that a person made, or that names them.
type Line struct {
	Job     string          `json:"job"`
	JobName string          `json:"job_name"`
	ID      string          `json:"id"`
	Kind    string          `json:"kind"`
	At      time.Time       `json:"at"`
	Made    bool            `json:"made"`   // by the person
	Names   bool            `json:"names"`  // names the person
	Sealed  bool            `json:"sealed"` // can be erased
	Says    string          `json:"says"`
	Body    json.RawMessage `json:"body"`
	Photos  []jobs.Hash     `json:"photos,omitempty"`
}

// Check tells whether somebody can be looked for: jobs.InputError where the words are too few or too many.
func (s Subject) Check() error {
	if n := utf8.RuneCountInString(strings.TrimSpace(s.Words)); s.Person == "" && n < MinWords || n > 200 {
		return &jobs.InputError{Field: "words", Value: fmt.Sprintf("%d characters long", n), Range: fmt.Sprintf("%d to 200", MinWords), Unit: "characters"}
	}
	return nil
}

// Find looks through all that a firm holds.
func (d *Desk) Find(ctx context.Context, co string, s Subject) (*File, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	s.Words = strings.TrimSpace(s.Words)
	f := &File{Subject: s}
	if s.Person != "" {
		if err := d.account(ctx, co, f); err != nil {
			return nil, err
		}
	}
	names := f.names()
	if err := d.guests(ctx, co, f, names); err != nil {
		return nil, err
	}
	rows, err := d.Record.Jobs(ctx, co)
	if err != nil {
		return nil, err
	}
	for _, job := range append([]replica.JobRow{{ID: co}}, rows...) {
		j, err := d.Record.Job(ctx, co, job.ID)
		if errors.Is(err, replica.ErrNoJob) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if err := f.read(j, names); err != nil {
			return nil, err
		}
		if d.Read == nil {
			continue
		}
		if err := d.Read(); err != nil {
			return nil, err
		}
	}
	return f, nil
}

func (d *Desk) account(ctx context.Context, co string, f *File) error {
	u, err := d.Accounts.User(ctx, co, f.Subject.Person)
	if err != nil {
		return err
	}
	f.Account = &u
	devices, err := d.Accounts.DevicesOf(ctx, co)
	if err != nil {
		return err
	}
	for _, dev := range devices {
		if dev.Person == u.Person {
			f.Devices = append(f.Devices, dev)
		}
	}
	f.Looks, err = d.Accounts.Looks(ctx, co, u.Person, 10000)
	return err
}

func (d *Desk) guests(ctx context.Context, co string, f *File, names []string) error {
	guests, err := d.Accounts.Guests(ctx, co)
	for _, g := range guests {
		if named(g.Name, names) || f.Account != nil && g.By == f.Account.Person {
			f.Guests = append(f.Guests, g)
		}
	}
	return err
}

// names are the words that mean the person.
func (f *File) names() []string {
	var list []string
	if f.Subject.Words != "" {
		list = append(list, f.Subject.Words)
	}
	if f.Account != nil && f.Account.Name != jobs.Erased {
		for _, n := range []string{f.Account.Name, f.Account.Login} {
			if utf8.RuneCountInString(n) >= MinWords {
				list = append(list, n)
			}
		}
	}
	return list
}

func named(text string, names []string) bool {
	low := strings.ToLower(text)
	for _, n := range names {
		if strings.Contains(low, strings.ToLower(n)) {
			return true
		}
	}
	return false
}

// read takes from a job what the person made and what names them.
func (f *File) read(j *jobs.Job, names []string) error {
	for _, r := range j.Records {
		body, err := r.EdgeJSON()
		if err != nil {
			return err
		}
		made := f.Account != nil && r.By == f.Account.Person
		names := textNames(body, names)
		if !made && !names {
			continue
		}
		f.Lines = append(f.Lines, Line{Job: j.ID, JobName: j.Name, ID: r.ID, Kind: r.Kind, At: r.Clk.Time(), Made: made, Names: names,
			Sealed: r.Key != nil, Says: j.Says(r), Body: body, Photos: r.Blobs})
	}
	return nil
}

// textNames tells whether any text in a body names the person.
func textNames(body json.RawMessage, names []string) bool {
	var tree any
	if json.Unmarshal(body, &tree) != nil {
		return false
	}
	var look func(any) bool
	look = func(v any) bool {
		switch v := v.(type) {
		case string:
			return named(v, names)
		case []any:
			for _, e := range v {
				if look(e) {
					return true
				}
			}
		case map[string]any:
			for _, e := range v {
				if look(e) {
					return true
				}
			}
		}
		return false
	}
	return look(tree)
}

// Erasable are the lines that name the person and whose words can be erased.
func (f *File) Erasable() []Line {
	var list []Line
	for _, l := range f.Lines {
		if l.Names && l.Sealed {
			list = append(list, l)
		}
	}
	return list
}

// Plain are the lines that name the person in words that are not sealed: they stay, because the record cannot be changed.
func (f *File) Plain() []Line {
	var list []Line
	for _, l := range f.Lines {
		if l.Names && !l.Sealed {
			list = append(list, l)
		}
	}
	return list
}
