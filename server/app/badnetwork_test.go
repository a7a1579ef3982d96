package app_test

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/storetest"
	"tacet/sync/wire"
)

// through sends a tablet's calls through a proxy.
func (d *tablet) through(p *proxy) {
	d.w.t.Helper()
	var err error
	if d.http, err = wire.NewHTTP(p.url(), wire.KeyID(d.answer.ServerKey), d.token); err != nil {
		d.w.t.Fatal(err)
	}
}

// Widths of photos, in pixels: of some 40 kB, and of some 200 kB.
const (
	smallPhoto = 320
	largePhoto = 720
)

// snapshotOf makes a photo that does not pack well.
func snapshotOf(t *testing.T, seed uint64, width int) []byte {
	t.Helper()
	draw := rand.New(rand.NewPCG(seed, 2))
	img := image.NewGray(image.Rect(0, 0, width, width*3/4))
	for i := range img.Pix {
		img.Pix[i] = uint8(draw.Uint32())
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 60}); err != nil {
		t.Fatal(err)
	}
	clean, err := photo.Prepare("photo", b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return clean
}

// faster is a clock that runs so many times as fast as others.
func faster(times int) func() time.Time {
	began := time.Now()
	return func() time.Time { return began.Add(time.Since(began) * time.Duration(times)) }
}

// overBadLine lets one tablet record through a bad line what another reads on a good one, and says how many bytes went over it.
func overBadLine(t *testing.T, now func() time.Time, width int, plan func(*rand.Rand) badLine) (p *proxy, tries int) {
	t.Helper()
	w := newWorld(t, app.Folder{Dir: t.TempDir()})
	bad, good := w.enrol(w.co, "m.reed", jobs.Site), w.enrol(w.co, "k.moss", jobs.Supervisor)
	rb, rg := bad.recordAt(now), good.record()
	job := bad.importJob(rb)
	bad.sync(rb)
	good.sync(rg)
	p = newProxy(t, w.URL, 1, plan)
	bad.through(p)
	said := 0
	for i := range 120 {
		said += len(bad.do(rb, job, fmt.Sprintf(`{"do":"note","surface":"C1","text":"line %d, as long as such a line is when somebody types it on a ladder"}`, i)))
		if i%12 == 0 {
			h, err := bad.blobs.Put(t.Context(), w.co.ID, snapshotOf(t, uint64(i), width))
			if err != nil {
				t.Fatal(err)
			}
			said += len(bad.do(rb, job, fmt.Sprintf(`{"do":"photo","surface":"C1","file":%q}`, h)))
		}
	}
	for {
		rep, err := rb.Sync(t.Context(), bad.http)
		if err == nil && rep.Waiting == 0 && rep.Photos == 0 {
			break
		}
		if err != nil && !errors.Is(err, replica.ErrUnreachable) && !errors.Is(err, replica.ErrBusy) && !errors.Is(err, replica.ErrSlowDown) {
			t.Fatalf("try %d: %v", tries, err)
		}
		if tries++; tries > 400 {
			t.Fatalf("after %d tries %d entries and %d photos wait", tries, rep.Waiting, rep.Photos)
		}
	}
	good.do(rg, job, `{"do":"note","text":"read over the bad line"}`)
	good.sync(rg)
	for try := 0; ; try++ {
		if _, err := rb.Sync(t.Context(), bad.http); err == nil {
			break
		} else if try > 100 {
			t.Fatal(err)
		}
	}
	show := func(j *jobs.Job, err error) string {
		if err != nil {
			t.Fatal(err)
		}
		out, err := j.Export()
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	want := show(w.Replica.Job(t.Context(), w.co.ID, job))
	for name, r := range map[string]*replica.Replica{"behind the bad line": rb, "on the good line": rg} {
		if show(r.Settled(t.Context(), w.co.ID, job)) != want {
			t.Errorf("the tablet %s holds another job than the server", name)
		}
	}
	server := &storetest.Side{Name: "the server", Store: w.Store, Replica: w.Replica, Blobs: w.Blobs}
	if err := server.Check(t.Context(), w.co.ID); err != nil {
		t.Error(err)
	}
	here := 0
	for _, f := range server.Rows().Photos {
		if f.Here {
			here++
		}
	}
	if entries := len(server.Rows().Entries); here != 10 || entries < said {
		t.Errorf("%d photos of 10 and %d entries of %d are at the server", here, entries, said)
	}
	return p, tries
}

// One tablet is behind a line that resets connections at any byte, cuts answers short, stands still, or shows a page to sign in on:
// nothing comes out wrong, and the exchange goes on where it was. Loss on a line below TCP is a line that stands still. The cuts
// are far denser than on any real line.
func TestBadNetwork(t *testing.T) {
	for _, c := range []struct {
		name string
		plan func(*rand.Rand) badLine
	}{
		{"reset at any byte", func(d *rand.Rand) badLine { return badLine{up: d.Int64N(160_000), down: -1, abrupt: true} }},
		{"answers cut short", func(d *rand.Rand) badLine { return badLine{up: -1, down: d.Int64N(16_000)} }},
		{"one connection in five is lost", func(d *rand.Rand) badLine {
			if d.IntN(5) > 0 {
				return badLine{up: 100_000, down: -1}
			}
			return badLine{up: d.Int64N(2000), down: -1, stall: 200 * time.Millisecond}
		}},
		{"a page to sign in on", func(d *rand.Rand) badLine {
			if d.IntN(2) > 0 {
				return badLine{portal: true}
			}
			return badLine{up: 60_000, down: -1}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, tries := overBadLine(t, time.Now, smallPhoto, c.plan)
			if p.cuts.Load() == 0 {
				t.Error("nothing was cut")
			}
			t.Logf("evidence: %s: %d cuts, %d tries, %d kB carried", c.name, p.cuts.Load(), tries, p.bytes.Load()/1000)
		})
	}
}

// A line of 1 kbit/s, on a clock 2,500 times as fast, is cut after ten minutes on average: at most a tenth of what it carries was
// carried before.
func TestSlowLineThatIsCut(t *testing.T) {
	const rate, times = 125, 2500
	slow := badLine{up: -1, down: -1, rate: rate * times}
	clean, _ := overBadLine(t, faster(times), smallPhoto, func(*rand.Rand) badLine { return slow })
	p, tries := overBadLine(t, faster(times), smallPhoto, func(d *rand.Rand) badLine {
		line := slow
		line.up, line.abrupt = d.Int64N(2*600*rate), true
		return line
	})
	again := float64(p.bytes.Load())/float64(clean.bytes.Load()) - 1
	t.Logf("evidence: %d cuts, %d tries, %d kB where a line that is not cut carries %d kB: %.1f %% again", p.cuts.Load(), tries, p.bytes.Load()/1000, clean.bytes.Load()/1000, 100*again)
	if p.cuts.Load() < 3 {
		t.Errorf("the line was cut %d times", p.cuts.Load())
	}
	if again > 0.10 {
		t.Errorf("%.1f %% were sent again", 100*again)
	}
}

// A fast line that is cut again and again, however often: photos of some 200 kB come through it, and of all that it carries at most a
// tenth was carried in vain and goes again.
func TestFastLineThatIsCut(t *testing.T) {
	for _, c := range []struct{ from, to int64 }{{60_000, 80_000}, {250_000, 350_000}} {
		p, tries := overBadLine(t, time.Now, largePhoto, func(d *rand.Rand) badLine {
			return badLine{up: c.from + d.Int64N(c.to-c.from), down: -1, abrupt: true}
		})
		vain := 100 * float64(p.vain.Load()) / float64(p.bytes.Load())
		t.Logf("evidence: a fast line that is cut after %d to %d kB: %d cuts, %d tries, %d kB carried, %.1f %% of them in vain",
			c.from/1000, c.to/1000, p.cuts.Load(), tries, p.bytes.Load()/1000, vain)
		if p.cuts.Load() < 3 {
			t.Errorf("the line was cut %d times", p.cuts.Load())
		}
		if vain > 10 {
			t.Errorf("%.1f %% were carried in vain", vain)
		}
	}
}
