package app

import (
	"context"
	"encoding/json"
	"fmt"

	"tacet/jobs"
	"tacet/server/accounts"
)

// What was erased is kept in the ledger too, beside the database and in no backup: a database that was put back, by its own tools or ours,
// forgets it again when the server starts, whatever keys came with it. The file has hashes of entries and ids of people, and nobody's words.

// erasedLine is one line of the file: an entry, a photo in a job, or a person.
type erasedLine struct {
	Co     string `json:"co"`
	Entry  string `json:"entry,omitempty"` // hash
	Job    string `json:"job,omitempty"`   // of the photo
	Photo  string `json:"photo,omitempty"` // hash
	Person string `json:"person,omitempty"`
}

// erasureLedger is that file. A line is on the disk before what it names is erased: a crash between the two leaves it to be done at the next
// start.
type erasureLedger struct{ lineFile }

// entry writes down what an entry is about to erase.
func (l *erasureLedger) entry(e jobs.Entry) error {
	var lines []any
	for _, h := range e.Erases() {
		lines = append(lines, erasedLine{Co: e.Co, Entry: h.String()})
	}
	for _, h := range e.ErasesPhotos() {
		lines = append(lines, erasedLine{Co: e.Co, Job: e.Job, Photo: h.String()})
	}
	return l.add(lines...)
}

// person writes down that somebody is about to be erased.
func (l *erasureLedger) person(co, person string) error {
	return l.add(erasedLine{Co: co, Person: person})
}

// lines reads what can be read, by company.
func (l *erasureLedger) lines() (map[string]map[erasedLine]bool, error) {
	known := map[string]map[erasedLine]bool{}
	return known, l.each(func(text []byte) {
		var line erasedLine
		if json.Unmarshal(text, &line) != nil || line.Co == "" {
			return
		}
		if known[line.Co] == nil {
			known[line.Co] = map[erasedLine]bool{}
		}
		known[line.Co][line] = true
	})
}

// erasedIn lists what the database of a company says was erased.
func (h *house) erasedIn(ctx context.Context, c accounts.Company) (list []erasedLine, err error) {
	hashes, err := h.store.Erased(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	for _, x := range hashes {
		list = append(list, erasedLine{Co: c.ID, Entry: x.String()})
	}
	users, err := h.accounts.Users(ctx, c.ID)
	for _, u := range users {
		if u.Name == jobs.Erased {
			list = append(list, erasedLine{Co: c.ID, Person: u.Person})
		}
	}
	return list, err
}

// replayErasures erases again what a ledger says was erased and the database has. It tells how much that was.
func (h *house) replayErasures(ctx context.Context, ledger *erasureLedger) (news int, err error) {
	all, err := ledger.lines()
	if err != nil || len(all) == 0 {
		return 0, err
	}
	companies, err := h.accounts.Companies(ctx)
	if err != nil {
		return 0, err
	}
	for _, c := range companies {
		known := all[c.ID]
		if len(known) == 0 {
			continue
		}
		have, err := h.erasedIn(ctx, c)
		if err != nil {
			return news, err
		}
		for _, l := range have {
			delete(known, l)
		}
		var hashes []jobs.Hash
		photos := map[string][]jobs.Hash{}
		for l := range known {
			switch x, err := jobs.ParseHash(l.Entry + l.Photo); {
			case l.Photo != "" && err == nil:
				photos[l.Job] = append(photos[l.Job], x)
			case l.Person != "":
				if err := h.accounts.EraseAgain(ctx, c.ID, l.Person); err != nil {
					return news, err
				}
				news++
			case err == nil:
				hashes = append(hashes, x)
			}
		}
		for job, list := range photos {
			n, err := h.replica.ErasePhotosAgain(ctx, c.ID, job, list)
			news += n
			if err != nil {
				return news, fmt.Errorf("replay the ledger of what was erased: %w", err)
			}
		}
		if len(hashes) == 0 {
			continue
		}
		n, err := h.replica.EraseAgain(ctx, c.ID, hashes)
		news += n
		if err != nil {
			return news, fmt.Errorf("replay the ledger of what was erased: %w", err)
		}
	}
	return news, nil
}

// dropErased removes the files of erased photos that a crash, or a backup that was put back, left.
func (h *house) dropErased(ctx context.Context) error {
	companies, err := h.store.Companies(ctx)
	if err != nil {
		return fmt.Errorf("remove erased photos: %w", err)
	}
	for _, co := range companies {
		if err := h.replica.DropErased(ctx, co); err != nil {
			return fmt.Errorf("remove erased photos of company %s: %w", co, err)
		}
	}
	return nil
}
