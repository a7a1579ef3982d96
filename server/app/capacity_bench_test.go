package app_test

import (
	"context"
	"fmt"
	"image/color"
	"sync"
	"testing"
	"time"

	"tacet/server/app"
	"tacet/sync/storetest"
)

// BenchmarkCapacity measures what the capacity plan is made from: how many entries devices of several companies can send at once, how many
// photos, and how many bytes an entry takes in the database. Devices record before the clock runs.
func BenchmarkCapacity(b *testing.B) {
	b.Run("sqlite", func(b *testing.B) { capacity(b, app.Folder{Dir: b.TempDir()}, 1) })
	b.Run("postgres", func(b *testing.B) { capacity(b, app.Folder{Dir: b.TempDir(), Database: storetest.PostgresDSN(b)}, 1) })
	b.Run("postgres-2-servers", func(b *testing.B) {
		capacity(b, app.Folder{Dir: b.TempDir(), Database: storetest.PostgresDSN(b)}, 2)
	})
}

// capacity lets the devices of each firm share several servers of one database.
func capacity(b *testing.B, folder app.Folder, servers int) {
	const companies, each, batch = 4, 2, 100
	all := make([]*app.Running, servers)
	for i := range all {
		var err error
		if all[i], err = app.Start(b.Context(), app.Config{Folder: folder, Listen: "127.0.0.1:0"}); err != nil {
			b.Fatal(err)
		}
		b.Cleanup(func() {
			if err := all[i].Stop(); err != nil {
				b.Error(err)
			}
		})
	}
	s := all[0]
	var devices []*benchDevice
	for c := range companies {
		co, err := s.Accounts.AddCompany(b.Context(), fmt.Sprintf("Firm %d (invented)", c))
		if err != nil {
			b.Fatal(err)
		}
		for d := range each {
			devices = append(devices, newBenchDevice(b, all[d%servers], co, fmt.Sprintf("p%d.%d", c, d)))
		}
	}
	size := dbSize(b, s, folder)
	b.ResetTimer()
	b.StopTimer()
	entries, photos := 0, 0
	var sending, sendingPhotos time.Duration
	for range b.N {
		for _, d := range devices {
			d.record(b, batch)
			entries += batch
		}
		b.StartTimer()
		began := time.Now()
		together(devices, func(d *benchDevice) { d.push(b) })
		sending += time.Since(began)
		b.StopTimer()
		for i, d := range devices {
			d.photo(b, color.Gray{uint8(photos + i)})
		}
		photos += len(devices)
		together(devices, func(d *benchDevice) { d.push(b) })
		began = time.Now()
		together(devices, func(d *benchDevice) {
			if _, err := d.replica.Sync(context.Background(), d.http); err != nil {
				b.Error(err)
			}
		})
		sendingPhotos += time.Since(began)
	}
	b.ReportMetric(float64(entries)/sending.Seconds(), "entries/s")
	b.ReportMetric(float64(photos)/sendingPhotos.Seconds(), "exchanges-with-photo/s")
	b.ReportMetric(float64(dbSize(b, s, folder)-size)/float64(entries), "bytes/entry")
	b.ReportMetric(0, "ns/op")
}

func together(devices []*benchDevice, f func(*benchDevice)) {
	var all sync.WaitGroup
	for _, d := range devices {
		all.Go(func() { f(d) })
	}
	all.Wait()
}

func dbSize(b *testing.B, s *app.Running, folder app.Folder) (n int64) {
	b.Helper()
	q := "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
	if folder.Database != "" {
		q = "SELECT pg_database_size(current_database())"
	}
	if err := s.Query(q, &n); err != nil {
		b.Fatal(err)
	}
	return n
}
