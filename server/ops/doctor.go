package ops

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"tacet/migrations"
	"tacet/sync/photo"
)

// Patient is the installation that is looked over.
type Patient struct {
	Dir     string // data folder
	Photos  string // folder of the photos
	DB      *sql.DB
	Dialect string // migrations.SQLite or migrations.Postgres
}

// Finding is one thing that was looked at.
type Finding struct {
	What string
	OK   bool
	Says string
}

// Examine looks an installation over. It changes nothing.
func Examine(ctx context.Context, p Patient) []Finding {
	list := []Finding{p.writable(), p.room(), p.private(), p.schema(ctx)}
	if p.Dialect == migrations.SQLite {
		return append(list, p.pragma(ctx, "database file", "quick_check", "ok"), p.pragma(ctx, "write-ahead log", "journal_mode", "wal"),
			p.pragma(ctx, "every commit synced to disk", "synchronous", "2"), p.foreignKeys(ctx))
	}
	return append(list, p.setting(ctx, "every commit synced to disk", "synchronous_commit", "on"), p.setting(ctx, "disk writes", "fsync", "on"), p.wall(ctx))
}

func (p Patient) writable() Finding {
	f := Finding{What: "data folder", Says: p.Dir + " can be written"}
	t, err := os.CreateTemp(p.Dir, ".doctor-*")
	if err == nil {
		_, err = t.Write(make([]byte, 4096))
		if e := t.Sync(); err == nil {
			err = e
		}
		t.Close()
		os.Remove(t.Name())
	}
	if f.OK = err == nil; !f.OK {
		f.Says = err.Error()
	}
	return f
}

// room looks whether the disk of the photos fills up.
func (p Patient) room() Finding {
	r := photo.NewDir(p.Photos).Room()
	f := Finding{What: "space for photos", OK: !r.Low(), Says: fmt.Sprintf("%.1f of %.1f GB left", float64(r.Free)/1e9, float64(r.Of)/1e9)}
	switch {
	case !r.Known:
		f.Says = "not looked at on this system"
	case r.Short():
		f.Says += "; photos are refused, records are taken: make room"
	case r.Low():
		f.Says += "; make room before photos are refused"
	}
	return f
}

// private looks for files that others on this machine may read.
func (p Patient) private() Finding {
	f := Finding{What: "secrecy of files", OK: true, Says: "only the owner can read keys and database"}
	if runtime.GOOS == "windows" {
		f.Says = "not looked at on this system"
		return f
	}
	var open []string
	err := filepath.WalkDir(p.Dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		secret := strings.HasSuffix(name, ".pem") || strings.HasPrefix(name, "tacet.db")
		info, err := d.Info()
		if err == nil && secret && info.Mode().Perm()&0o077 != 0 {
			open = append(open, path)
		}
		return nil
	})
	if err != nil || len(open) > 0 {
		f.OK = false
		f.Says = fmt.Sprintf("others on this machine can read %s", strings.Join(open, ", "))
		if err != nil {
			f.Says = err.Error()
		}
	}
	return f
}

func (p Patient) schema(ctx context.Context) Finding {
	var version int64
	err := p.DB.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version WHERE is_applied").Scan(&version)
	if err != nil {
		return Finding{"schema", false, err.Error()}
	}
	return Finding{"schema", version > 0, fmt.Sprintf("version %d", version)}
}

func (p Patient) pragma(ctx context.Context, what, name, want string) Finding {
	// The first line is enough: where there is more, it is what is wrong.
	var got string
	if err := p.DB.QueryRowContext(ctx, "PRAGMA "+name).Scan(&got); err != nil {
		return Finding{what, false, err.Error()}
	}
	return Finding{what, got == want, name + " = " + got}
}

func (p Patient) foreignKeys(ctx context.Context) Finding {
	const what = "references between tables"
	var bad int
	if err := p.DB.QueryRowContext(ctx, "SELECT count(*) FROM pragma_foreign_key_check").Scan(&bad); err != nil {
		return Finding{what, false, err.Error()}
	}
	return Finding{what, bad == 0, fmt.Sprintf("%d rows name others that are not there", bad)}
}

// wall looks whether row-level security holds for the role that the server uses: a superuser walks through it.
func (p Patient) wall(ctx context.Context) Finding {
	const what = "wall between companies"
	var through bool
	err := p.DB.QueryRowContext(ctx, "SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user").Scan(&through)
	switch {
	case err != nil:
		return Finding{what, false, err.Error()}
	case through:
		return Finding{what, false, "the database role is a superuser or may bypass row-level security; give the server a role of its own that owns the database"}
	}
	return Finding{what, true, "row-level security holds for the database role"}
}

func (p Patient) setting(ctx context.Context, what, name, want string) Finding {
	var got string
	if err := p.DB.QueryRowContext(ctx, "SELECT current_setting($1)", name).Scan(&got); err != nil {
		return Finding{what, false, err.Error()}
	}
	return Finding{what, got == want, name + " = " + got}
}
