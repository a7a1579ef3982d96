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

// erasedLine is one line of the file: an entry or a person.
type erasedLine struct {
	Co     string `json:"co"`
	Entry  string `json:"entry,omitempty"` // hash
	Person string `json:"person,omitempty"`
}

// erasureLedger is that file. A line is on the disk before what it names is erased: a crash between the two leaves it to be done at the next
// start.
type erasureLedger struct{ lineFile }

// entries writes down that the words of some entries are about to be erased.
func (l *erasureLedger) entries(co string, list []jobs.Hash) error {
	lines := make([]any, len(list))
	for i, h := range list {
		lines[i] = erasedLine{Co: co, Entry: h.String()}
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
		for l := range known {
			switch x, err := jobs.ParseHash(l.Entry); {
			case l.Person != "":
				if err := h.accounts.EraseAgain(ctx, c.ID, l.Person); err != nil {
					return news, err
				}
				news++
			case err == nil:
				hashes = append(hashes, x)
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
