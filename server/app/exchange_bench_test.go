package app_test

import (
	"bytes"
	"cmp"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/glebarez/sqlite"
	"github.com/gofiber/fiber/v2"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/sync/store"
)

// BenchmarkWholeExchange sends a device's entries to a server over HTTP, with validation, rules, authorisation and chains, and reads
// them on a new device. Floors of the same run: the same rows, bare, in transactions of 1,000 into the same tables and
// indexes; and a minimal fiber and gorm program that takes the same rows by HTTP and does nothing else. TACET_ENTRIES lists the
// sizes.
func BenchmarkWholeExchange(b *testing.B) {
	for _, n := range entrySizes(b, "1000,10000") {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			for range b.N {
				f := fill(b, n)
				if err := f.server.Stop(); err != nil {
					b.Fatal(err)
				}
				f.report(b)
			}
		})
	}
}

// entrySizes are the numbers of entries that TACET_ENTRIES lists.
func entrySizes(b *testing.B, without string) (sizes []int) {
	b.Helper()
	for _, text := range strings.Split(cmp.Or(os.Getenv("TACET_ENTRIES"), without), ",") {
		n, err := strconv.Atoi(text)
		if err != nil {
			b.Fatal(err)
		}
		sizes = append(sizes, n)
	}
	return sizes
}

// filled is a server with n entries in jobs of 200 that one device has sent and another has read, and how long that took.
type filled struct {
	n          int
	folder     app.Folder
	server     *app.Running
	to         *benchDevice
	push, pull took
}

func fill(b *testing.B, n int) *filled {
	b.Helper()
	f := &filled{n: n, folder: app.Folder{Dir: b.TempDir()}}
	var err error
	if f.server, err = app.Start(b.Context(), app.Config{Folder: f.folder, Listen: "127.0.0.1:0"}); err != nil {
		b.Fatal(err)
	}
	co, err := f.server.Accounts.AddCompany(b.Context(), "Firm (invented)")
	if err != nil {
		b.Fatal(err)
	}
	from := newBenchDevice(b, f.server, co, "one")
	f.to = newBenchDevice(b, f.server, co, "two")
	if _, err := from.replica.Pull(b.Context(), from.http); err != nil {
		b.Fatal(err)
	}
	for range (n + 199) / 200 {
		from.startJob(b)
		from.record(b, min(n, 200)-2)
	}
	f.push = timed(b, func() error {
		_, err := from.replica.Push(b.Context(), from.http)
		return err
	})
	f.pull = timed(b, func() error {
		got, err := f.to.replica.Pull(b.Context(), f.to.http)
		if got.Entries < n {
			return errors.Join(err, fmt.Errorf("%d entries arrived of %d", got.Entries, n))
		}
		return err
	})
	return f
}

// report measures the floors in what was filled, and prints what push and pull are of them.
func (f *filled) report(b *testing.B) {
	b.Helper()
	server := filepath.Join(f.folder.Dir, "tacet.db")
	pushFloor := bareInserts(b, server, "entry", "log", "entry_key")
	pullFloor := bareInserts(b, server, "entry", "entry_key")
	echo := echoed(b, server)
	report := func(name string, floor, ours took, against string) {
		wall, cpu := floor.per(ours)
		b.ReportMetric(wall, name+"/"+against)
		b.ReportMetric(cpu, name+"/"+against+"-cpu")
	}
	b.ReportMetric(float64(f.n)/f.push.wall.Seconds(), "push-entries/s")
	b.ReportMetric(float64(f.n)/f.pull.wall.Seconds(), "pull-entries/s")
	report("push", pushFloor, f.push, "bare")
	report("pull", pullFloor, f.pull, "bare")
	report("push", echo, f.push, "echo")
	b.ReportMetric(0, "ns/op")
}

// took is how long something took, by the clock and in processor time of this process on all cores: the latter hardly depends on who
// else uses the machine.
type took struct{ wall, cpu time.Duration }

// per is how many times of another one it is: by the clock, and in processor time.
func (t took) per(floor took) (wall, cpu float64) {
	return float64(t.wall) / float64(floor.wall), float64(t.cpu) / float64(floor.cpu)
}

func timed(b *testing.B, f func() error) took {
	b.Helper()
	runtime.GC() // what was made before is not paid for here
	cpu, began := processorTime(b), time.Now()
	if err := f(); err != nil {
		b.Fatal(err)
	}
	return took{time.Since(began), processorTime(b) - cpu}
}

func processorTime(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// startJob begins another job of one surface.
func (d *benchDevice) startJob(b *testing.B) {
	b.Helper()
	var err error
	if d.job, err = d.replica.NewID(); err != nil {
		b.Fatal(err)
	}
	edges, err := jobs.Import([]byte(`{"name":"Canal Row (invented)","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	if err != nil {
		b.Fatal(err)
	}
	if _, err := d.replica.Record(b.Context(), d.co, jobs.Author{Person: d.answer.Person, Role: jobs.Owner}, d.job, edges); err != nil {
		b.Fatal(err)
	}
}

// table is the rows of a table as the driver gives them.
type table struct {
	insert string
	rows   [][]any
}

func readTable(b *testing.B, db *sql.DB, name string) table {
	b.Helper()
	rows, err := db.Query("SELECT * FROM " + name)
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		b.Fatal(err)
	}
	t := table{insert: "INSERT INTO " + name + " (" + strings.Join(columns, ",") + ") VALUES (?" + strings.Repeat(",?", len(columns)-1) + ")"}
	for rows.Next() {
		row, to := make([]any, len(columns)), make([]any, len(columns))
		for i := range row {
			to[i] = &row[i]
		}
		if err := rows.Scan(to...); err != nil {
			b.Fatal(err)
		}
		t.rows = append(t.rows, row)
	}
	if err := rows.Err(); err != nil {
		b.Fatal(err)
	}
	return t
}

// bareInserts times the rows of some tables going into an empty database of the same schema, 1,000 of each a transaction.
func bareInserts(b *testing.B, path string, names ...string) took {
	b.Helper()
	from := openBare(b, path)
	var tables []table
	for _, name := range names {
		tables = append(tables, readTable(b, from, name))
	}
	into := emptyStore(b)
	if _, err := into.Exec("PRAGMA foreign_keys = 0"); err != nil { // what the log names comes along in the same run
		b.Fatal(err)
	}
	return timed(b, func() error {
		for start := 0; start < len(tables[0].rows); start += 1000 {
			tx, err := into.Begin()
			if err != nil {
				return err
			}
			for _, t := range tables {
				if err := insertRows(tx, t, start); err != nil {
					return err
				}
			}
			if err := tx.Commit(); err != nil {
				return err
			}
		}
		return nil
	})
}

func insertRows(tx *sql.Tx, t table, start int) error {
	stmt, err := tx.Prepare(t.insert)
	if err != nil {
		return err
	}
	defer stmt.Close()
	for _, row := range t.rows[min(start, len(t.rows)):min(start+1000, len(t.rows))] {
		if _, err := stmt.Exec(row...); err != nil {
			return err
		}
	}
	return nil
}

func openBare(b *testing.B, path string) *sql.DB {
	b.Helper()
	db, err := gorm.Open(sqlite.Open(store.DSN(path)), &gorm.Config{Logger: logger.Discard})
	if err != nil {
		b.Fatal(err)
	}
	pool, err := db.DB()
	if err != nil {
		b.Fatal(err)
	}
	pool.SetMaxOpenConns(1)
	b.Cleanup(func() { _ = pool.Close() })
	return pool
}

func emptyStore(b *testing.B) *sql.DB {
	b.Helper()
	path := filepath.Join(b.TempDir(), "bare.db")
	st, err := store.Open(b.Context(), path)
	if err != nil {
		b.Fatal(err)
	}
	if err := st.Close(); err != nil {
		b.Fatal(err)
	}
	return openBare(b, path)
}

// echoRow is a row of the entry table for a program that knows nothing else of it.
type echoRow struct {
	Co, ID, Job, Dev, Clk, Kind, State, Says string
	H, Env, Body                             []byte
	Seq, Run, Pos, At, Len, N                int64
}

func (echoRow) TableName() string { return "entry" }

// echoed times a client that posts rows as JSON, 500 a request, to a handler that parses and creates them.
func echoed(b *testing.B, path string) took {
	b.Helper()
	var rows []echoRow
	read, err := gorm.Open(sqlite.Open(store.DSN(path)), &gorm.Config{Logger: logger.Discard})
	if err != nil {
		b.Fatal(err)
	}
	if err := read.Find(&rows).Error; err != nil {
		b.Fatal(err)
	}
	if pool, err := read.DB(); err == nil {
		_ = pool.Close()
	}
	db, err := gorm.Open(sqlite.Dialector{Conn: emptyStore(b)}, &gorm.Config{Logger: logger.Discard})
	if err != nil {
		b.Fatal(err)
	}
	a := fiber.New(fiber.Config{DisableStartupMessage: true})
	a.Post("/rows", func(c *fiber.Ctx) error {
		var in []echoRow
		if err := json.Unmarshal(c.Body(), &in); err != nil {
			return err
		}
		if err := db.CreateInBatches(in, 100).Error; err != nil {
			return err
		}
		return c.JSON(len(in))
	})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	go func() { _ = a.Listener(l) }()
	defer func() { _ = a.Shutdown() }()
	return timed(b, func() error {
		for start := 0; start < len(rows); start += 500 {
			body, err := json.Marshal(rows[start:min(start+500, len(rows))])
			if err != nil {
				return err
			}
			answer, err := http.Post("http://"+l.Addr().String()+"/rows", "application/json", bytes.NewReader(body))
			if err != nil {
				return err
			}
			answer.Body.Close()
			if answer.StatusCode != http.StatusOK {
				return fmt.Errorf("the echo answered %s", answer.Status)
			}
		}
		return nil
	})
}
