package app

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"tacet/acoustics"
	"tacet/server/ops"
	"tacet/sync/replica"
)

type backupCmd struct {
	File       string `arg:"" help:"Zip file to make."`
	Keys       bool   `name:"with-keys" help:"Put the server's keys in too, and not into server.keys beside it: whoever has the file can then be this server."`
	PeopleKeys string `name:"people-keys" placeholder:"FILE" help:"File for the keys of what people said, written anew by each backup; people.keys beside the backup if left out. Keep only the newest: then what was erased is in no old backup."`
}

// Run backs the server up.
func (c *backupCmd) Run(r *run) error {
	if r.folder.Database != "" {
		return &acoustics.InputError{Field: "backup", Value: "for SQLite", Hint: "back PostgreSQL up with its own tools, such as pg_dump --exclude-table-data=entry_key --exclude-table-data=view_job, keep of entry_key only the newest dump, and the folder of the data beside it"}
	}
	return r.with(func(h *house) error {
		db, err := h.store.DB().DB()
		if err != nil {
			return fmt.Errorf("backup: %w", err)
		}
		src := ops.Source{DB: db, Photos: r.folder.photos(), PeopleKeys: peopleKeys(c.PeopleKeys, c.File)}
		if c.Keys {
			src.Keys = r.folder.keys()
		}
		if err := ops.Backup(r.ctx, src, c.File, time.Now()); err != nil {
			return err
		}
		says := "Backed up, with the server's keys."
		if !c.Keys {
			own := serverKeys(c.File)
			if err := ops.WriteServerKeys(r.folder.keys(), own); err != nil {
				return err
			}
			says = "Backed up. The server's own keys are in " + own + "."
		}
		_, err = fmt.Fprintf(r.talk, "%s Those of what people said, and who has an account, are in %s. A restore asks for both; keep them apart from the backup.\n", says, src.PeopleKeys)
		return err
	})
}

// serverKeys is the file of a server's own keys, beside a backup.
func serverKeys(backup string) string { return filepath.Join(filepath.Dir(backup), ops.ServerKeys) }

// peopleKeys is the file of keys that was named, or the one beside a backup.
func peopleKeys(named, backup string) string {
	if named != "" {
		return named
	}
	return filepath.Join(filepath.Dir(backup), ops.PeopleKeys)
}

type peopleKeysCmd struct {
	File string `arg:"" help:"File that server backup wrote."`
}

// Run takes keys in that a restore went without.
func (c *peopleKeysCmd) Run(r *run) error {
	if r.folder.Database != "" {
		return &acoustics.InputError{Field: "people-keys", Value: "for SQLite", Hint: "on PostgreSQL the keys are the table entry_key: put it back with its own tools"}
	}
	return r.with(func(h *house) error {
		t, err := h.takePeopleKeys(r.ctx, c.File)
		if err == nil {
			err = h.eraseAgain(r.ctx, t)
		}
		if err == nil {
			_, err = h.replayErasures(r.ctx, r.folder.erasures())
		}
		if err == nil {
			err = h.accounts.Reconcile(r.ctx)
		}
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "Keys of people's words: %d. Servers that run show them once they are started anew.\n", t.Keys)
		return err
	})
}

func (h *house) takePeopleKeys(ctx context.Context, file string) (ops.Taken, error) {
	db, err := h.store.DB().DB()
	if err != nil {
		return ops.Taken{}, err
	}
	return ops.ReadPeopleKeys(ctx, db, file)
}

// eraseAgain erases whom the backup knew and the newest file of keys says was erased.
func (h *house) eraseAgain(ctx context.Context, t ops.Taken) error {
	for _, p := range t.Erased {
		if err := h.accounts.EraseAgain(ctx, p.Company, p.Person); err != nil {
			return err
		}
	}
	return nil
}

type rebuildCmd struct{}

// Run rebuilds the read tables.
func (c *rebuildCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		made, err := h.replica.Rebuild(r.ctx)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "Jobs: %d. Views as before: %s\n", made.Jobs, made.Hash)
		return err
	})
}

type verifyCmd struct{}

// Run verifies every company: the log, and each job in it.
func (c *verifyCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		says, err := h.verify(r.ctx)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "%s\n%s\n", says, replica.NotProved)
		return err
	})
}

// verify checks every company of a folder and says how much it looked at.
func (h *house) verify(ctx context.Context) (string, error) {
	companies, err := h.store.Companies(ctx)
	if err != nil {
		return "", err
	}
	var acts int64
	var all replica.Proof
	var broken error
	for _, co := range companies {
		n, err := h.replica.VerifyLog(ctx, co)
		if err != nil {
			return "", err
		}
		acts += n
		rows, err := h.replica.Jobs(ctx, co)
		if err != nil {
			return "", err
		}
		for _, j := range rows {
			p, err := h.replica.Prove(ctx, co, j.ID)
			if err != nil {
				broken = errors.Join(broken, fmt.Errorf("job %s: %w", j.ID, err))
				continue
			}
			all.Entries += p.Entries
			all.Seals += p.Seals
		}
	}
	if broken != nil {
		return "", broken
	}
	return fmt.Sprintf("Companies: %d. Acts: %d. Entries: %d. Seals: %d. Nothing was changed.", len(companies), acts, all.Entries, all.Seals), nil
}

type healthcheckCmd struct {
	URL string `name:"url" env:"TACET_HEALTH_URL" help:"Address of the server; if left out, that of the server that was started last on the data folder." placeholder:"URL"`
}

// Run asks the server.
func (c *healthcheckCmd) Run(r *run) error {
	url := c.URL
	if url == "" {
		b, err := os.ReadFile(servingPath(r.folder.Dir))
		if err != nil {
			return fmt.Errorf("no server was started on %s: %w", r.folder.Dir, replica.ErrUnreachable)
		}
		var s serving
		if err := json.Unmarshal(b, &s); err != nil {
			return fmt.Errorf("read where the server is: %w", err)
		}
		url = s.URL
	}
	return ops.Ask(r.ctx, url)
}

type doctorCmd struct{}

// Run looks the installation over.
func (c *doctorCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		db, err := h.store.DB().DB()
		if err != nil {
			return fmt.Errorf("examine: %w", err)
		}
		findings := ops.Examine(r.ctx, ops.Patient{Dir: r.folder.Dir, Photos: r.folder.photos(), DB: db, Dialect: h.store.Dialect()})
		bad := 0
		for _, f := range findings {
			mark := "ok  "
			if !f.OK {
				mark, bad = "BAD ", bad+1
			}
			if _, err := fmt.Fprintf(r.out, "%s %s: %s\n", mark, f.What, f.Says); err != nil {
				return err
			}
		}
		if bad > 0 {
			return fmt.Errorf("%d of %d findings are bad", bad, len(findings))
		}
		return nil
	})
}
