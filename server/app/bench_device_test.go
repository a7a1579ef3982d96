package app_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"image"
	"image/color"
	"image/jpeg"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/wire"
)

// benchDevice is a device with a store of its own, for benchmarks.
type benchDevice struct {
	co, job string
	answer  wire.EnrolAnswer
	http    *wire.HTTP
	blobs   replica.Blobs
	replica *replica.Replica
}

func newBenchDevice(b *testing.B, s *app.Running, co accounts.Company, login string) *benchDevice {
	b.Helper()
	must := func(err error) {
		b.Helper()
		if err != nil {
			b.Fatal(err)
		}
	}
	_, err := s.Accounts.AddUser(b.Context(), accounts.User{Company: co.ID, Login: login, Role: jobs.Owner}, password)
	must(err)
	code, err := s.Accounts.EnrolCode(b.Context(), login, accounts.CodeLife)
	must(err)
	_, key, err := ed25519.GenerateKey(rand.Reader)
	must(err)
	id := uuid.Must(uuid.NewV7()).String()
	open, err := wire.NewHTTP(s.URL, "", nil)
	must(err)
	d := &benchDevice{co: co.ID}
	d.answer, err = open.Enrol(b.Context(), wire.EnrolRequest{Code: code, Device: id, PublicKey: key.Public().(ed25519.PublicKey), Name: "bench", Key: key})
	must(err)
	d.http, err = wire.NewHTTP(s.URL, wire.KeyID(d.answer.ServerKey), (&tablet{answer: d.answer}).token)
	must(err)
	dir := b.TempDir()
	st, err := store.Open(b.Context(), filepath.Join(dir, "home.db"))
	must(err)
	b.Cleanup(func() { must(st.Close()) })
	must(replica.Settle(b.Context(), st, replica.Me{Company: co.ID, Device: id, Person: d.answer.Person, Role: jobs.Owner, ServerKey: d.answer.ServerKey}))
	d.blobs = photo.NewDir(filepath.Join(dir, "photos"))
	d.replica = replica.New(replica.Config{Store: st, Blobs: d.blobs, Company: co.ID, Device: id, Key: key, Now: time.Now, Rand: rand.Reader})
	d.job, err = d.replica.NewID()
	must(err)
	edges, err := jobs.Import([]byte(`{"name":"Canal Row (invented)","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	must(err)
	_, err = d.replica.Record(b.Context(), co.ID, jobs.Author{Person: d.answer.Person, Role: jobs.Owner}, d.job, edges)
	must(err)
	d.push(b)
	return d
}

func (d *benchDevice) record(b *testing.B, n int) {
	b.Helper()
	list := make([]json.RawMessage, n)
	for i := range list {
		list[i] = json.RawMessage(`{"do":"note","surface":"C1","text":"the board is cut round the pipe, sealed on both sides and looked at"}`)
	}
	if _, err := d.replica.Record(b.Context(), d.co, jobs.Author{Person: d.answer.Person, Role: jobs.Owner}, d.job, list); err != nil {
		b.Fatal(err)
	}
}

func (d *benchDevice) push(b *testing.B) {
	if _, err := d.replica.Push(b.Context(), d.http); err != nil {
		b.Error(err)
	}
}

// photo records one of 1600 by 1200 pixels, about the size that the pages keep.
func (d *benchDevice) photo(b *testing.B, c color.Gray) {
	b.Helper()
	img := image.NewGray(image.Rect(0, 0, 1600, 1200))
	for i := range img.Pix {
		img.Pix[i] = c.Y + uint8(i*i>>9)
	}
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, img, &jpeg.Options{Quality: 80}); err != nil {
		b.Fatal(err)
	}
	clean, err := photo.Prepare("photo", buf.Bytes())
	if err != nil {
		b.Fatal(err)
	}
	h, err := d.blobs.Put(b.Context(), d.co, clean)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := d.replica.Record(b.Context(), d.co, jobs.Author{Person: d.answer.Person, Role: jobs.Owner}, d.job, edges(`{"do":"photo","surface":"C1","file":"`+h.String()+`"}`)); err != nil {
		b.Fatal(err)
	}
}
