package e2e_test

import (
	"bytes"
	"fmt"
	"io"
	"math/rand"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// breaking is a line on which everything ends when so many bytes have gone up. It counts what goes up of photos.
type breaking struct {
	net.Listener
	to string

	mu     sync.Mutex
	draw   *rand.Rand
	left   int
	cuts   int
	conns  map[net.Conn]bool
	photos int64 // bytes of photos that came up to here, also of pieces that were cut
}

func newBreaking(t *testing.T, to string, between func(*rand.Rand) int) *breaking {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := &breaking{Listener: ln, to: to, draw: rand.New(rand.NewSource(4)), conns: map[net.Conn]bool{}}
	l.left = between(l.draw)
	s := &http.Server{Handler: http.HandlerFunc(l.carry)}
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = s.Serve(&breakingListener{l, between}) // ends with Close
	}()
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		<-done
	})
	return l
}

type breakingListener struct {
	*breaking
	between func(*rand.Rand) int
}

func (l *breakingListener) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.conns[c] = true
	return &breakingConn{c, l}, nil
}

type breakingConn struct {
	net.Conn
	l *breakingListener
}

func (c *breakingConn) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	l := c.l
	l.mu.Lock()
	defer l.mu.Unlock()
	if n < l.left {
		l.left -= n
		return n, err
	}
	n = l.left // what lies behind the cut was never here
	l.left = l.between(l.draw)
	l.cuts++
	for o := range l.conns {
		_ = o.Close() // a cut is no error
	}
	clear(l.conns)
	return n, io.ErrUnexpectedEOF
}

// carry hands a request on once all of it is here.
func (l *breaking) carry(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if r.Method == http.MethodPut && strings.Contains(r.URL.Path, "/photos/") {
		l.mu.Lock()
		l.photos += int64(len(body))
		l.mu.Unlock()
	}
	if err != nil {
		return
	}
	out, err := http.NewRequestWithContext(r.Context(), r.Method, "http://"+l.to+r.URL.RequestURI(), bytes.NewReader(body))
	if err != nil {
		w.WriteHeader(http.StatusBadGateway)
		return
	}
	out.Header, out.Host = r.Header.Clone(), r.Host
	res, err := http.DefaultTransport.RoundTrip(out)
	if err != nil {
		return
	}
	defer res.Body.Close()
	for k, v := range res.Header {
		w.Header()[k] = v
	}
	w.WriteHeader(res.StatusCode)
	_, _ = io.Copy(w, res.Body) // ends with either side
}

// On a line that is cut whenever some hundred kilobytes have gone up, a phone fits the pieces of its photos to it: at most a tenth of
// their bytes goes up again, over all cuts, those from which it learns included.
func TestPhoneSendsLittleTwice(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	f.net.set(true)
	const photos = 20
	total := eval[int64](b, fromPhone(fmt.Sprintf(`(async () => {
		const { record } = await load('pen.js'), { present } = await load('account.js'), { prepare } = await load('picture.js'), who = await present()
		const c = document.createElement('canvas'); c.width = 1200; c.height = 900
		const pen = c.getContext('2d')
		for (let i = 0; i < %d; i++) {
			for (let k = 0; k < 1500; k++) { pen.fillStyle = 'rgb(' + [0,0,0].map(() => Math.floor(Math.random() * 256)) + ')'; pen.fillRect(Math.random() * 1200, Math.random() * 900, 40, 40) }
			const p = await prepare(await new Promise((d) => c.toBlob(d, 'image/png')))
			await record({ job: '%s', kind: 'note', on: { surface: 'C1' }, body: { text: 'with a photo' }, photos: [p], says: 'note' }, who)
		}
		return read(['photo'], async (db) => (await db.photo.all()).reduce((n, p) => n + p.bytes.byteLength, 0))
	})()`, photos, f.job)), chromedp.EvalAwaitPromise)
	line := newBreaking(t, f.net.to, func(r *rand.Rand) int { return 120_000 + r.Intn(160_000) })
	f.net.lead(line.Addr().String())
	f.net.set(false)
	for tries := 0; exchange(b) != ""; tries++ {
		if tries > 300 {
			t.Fatal("it does not come to an end")
		}
	}
	f.laneOf(dev, photos)
	if n := f.photosHere(dev); n != photos {
		t.Errorf("%d of %d photos are at the server", n, photos)
	}
	line.mu.Lock()
	defer line.mu.Unlock()
	again := 100 * float64(line.photos-total) / float64(total)
	t.Logf("evidence: %d photos of %d kB from a phone over a line with %d cuts: %.1f %% of their bytes went up again", photos, total/1000, line.cuts, again)
	if line.cuts < 5 || again > 10 {
		t.Errorf("%d cuts, %.1f %% again, at most 10 %%", line.cuts, again)
	}
}
