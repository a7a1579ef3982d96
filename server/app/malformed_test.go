package app_test

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

// malformedRuns is how many requests are made up: enough to be quick by itself, and as many as TACET_MALFORMED says in the deep run.
func malformedRuns(t *testing.T) int {
	t.Helper()
	if s := os.Getenv("TACET_MALFORMED"); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	return 2000
}

// Requests made up at random, half of them well-formed HTTP with bad content and half broken as HTTP too, to every route, with and without
// a token: no answer says that it was our fault, nothing panics, memory stays bounded, and the server is afterwards as before. A failing
// run is repeated by its seed.
func TestMalformedRequests(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Owner)
	job, over, sha := jobToTry(t, d)
	cookie := w.signIn("m.reed").cookie
	before, err := w.Replica.VerifyLog(t.Context(), w.co.ID)
	if err != nil {
		t.Fatal(err)
	}
	seed := uint64(1)
	if s := os.Getenv("TACET_SEED"); s != "" {
		if seed, err = strconv.ParseUint(s, 10, 64); err != nil {
			t.Fatal(err)
		}
	}
	m := &malformed{r: rand.New(rand.NewPCG(seed, 7)), routes: w.Routes(), token: d.answer.AccessToken, cookie: cookie, job: job, over: over, sha: sha}
	addr := strings.TrimPrefix(w.URL, "http://")
	runtime.GC()
	var at runtime.MemStats
	runtime.ReadMemStats(&at)
	n := malformedRuns(t)
	answered, slowest := 0, time.Duration(0)
	for i := range n {
		raw := m.request(addr)
		began := time.Now()
		status, err := sendRaw(addr, raw)
		slowest = max(slowest, time.Since(began))
		if status > 0 {
			answered++
		}
		if status >= 500 {
			t.Fatalf("seed %d, request %d is answered with %d:\n%.600q\n%s", seed, i, status, raw, lastLine(w.log.String()))
		}
		if err != nil {
			t.Fatalf("seed %d, request %d: %v\n%.600q", seed, i, err, raw)
		}
	}
	if answered < n/2 {
		t.Errorf("only %d of %d were answered: too few get far enough", answered, n)
	}
	if strings.Contains(w.log.String(), `"panic"`) || strings.Contains(w.log.String(), `"level":"ERROR"`) {
		t.Error("something broke inside")
	}
	runtime.GC()
	var now runtime.MemStats
	runtime.ReadMemStats(&now)
	if grown := int64(now.HeapInuse) - int64(at.HeapInuse) - int64(len(w.log.String())); grown > 64<<20 {
		t.Errorf("memory in use grew by %d MiB", grown>>20)
	}
	if _, err := w.Replica.VerifyLog(t.Context(), w.co.ID); err != nil {
		t.Error(err)
	}
	after := w.enrol(w.co, "after.all", jobs.Site)
	if _, err := after.record().Pull(t.Context(), after.http); err != nil {
		t.Errorf("a device after all that: %v", err)
	}
	t.Logf("evidence: %d requests, %d answered, slowest %s, seed %d; the log had %d acts before", n, answered, slowest.Round(time.Millisecond), seed, before)
}

func lastLine(s string) string {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	return strings.Join(lines[max(0, len(lines)-3):], "\n")
}

// sendRaw sends bytes and reads the status of the answer; 0 where the connection was closed without one.
func sendRaw(addr string, raw []byte) (int, error) {
	c, err := net.Dial("tcp", addr)
	if err != nil {
		return 0, err
	}
	defer c.Close()
	if err := c.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
		return 0, err
	}
	// The server may answer and close before it has everything; that is no failure.
	_, _ = c.Write(raw)
	if err := c.(*net.TCPConn).CloseWrite(); err != nil {
		return 0, nil
	}
	line, err := bufio.NewReader(c).ReadString('\n')
	if ne, ok := err.(net.Error); ok && ne.Timeout() {
		return 0, fmt.Errorf("no answer in ten seconds")
	}
	f := strings.Fields(line)
	if len(f) < 2 {
		return 0, nil
	}
	status, err := strconv.Atoi(f[1])
	if err != nil {
		return 0, fmt.Errorf("the answer begins with %.40q", line)
	}
	return status, nil
}

type malformed struct {
	r                             *rand.Rand
	routes                        []fiber.Route
	token, cookie, job, over, sha string
}

func (m *malformed) pick(list ...string) string { return list[m.r.IntN(len(list))] }

// junk is a value where another is expected.
func (m *malformed) junk() string {
	switch m.r.IntN(14) {
	case 0:
		return ""
	case 1:
		return strings.Repeat("A", m.r.IntN(5000))
	case 2:
		return "\x00"
	case 3:
		return "\xff\xfe"
	case 4:
		return "../../../../etc/passwd"
	case 5:
		return "' OR 1=1 --"
	case 6:
		return "-1"
	case 7:
		return "999999999999999999999999"
	case 8:
		return "NaN"
	case 9:
		return "\u202e\u0000𝔘"
	case 10:
		return "{{.}}${7*7}%s%n"
	case 11:
		return "<script>alert(1)</script>"
	case 12:
		return "%00%ff%2e%2e%2f"
	}
	b := make([]byte, m.r.IntN(200))
	for i := range b {
		b[i] = byte(m.r.UintN(256))
	}
	return string(b)
}

var pathParam = regexp.MustCompile(`:(\w+)`)

func (m *malformed) path(route string) string {
	known := map[string]string{"job": m.job, "surface": "C1", "layer": "1", "check": "K01", "over": m.over, "sha": m.sha, "width": "328"}
	return pathParam.ReplaceAllStringFunc(route, func(p string) string {
		if v, ok := known[p[1:]]; ok && m.r.IntN(3) > 0 {
			return v
		}
		return strings.Map(func(r rune) rune {
			if r <= ' ' || r == '?' || r == '#' {
				return '_'
			}
			return r
		}, m.junk())
	})
}

// body is JSON, a form, frames or bytes, mostly wrong.
func (m *malformed) body() (media string, b []byte) {
	key := m.pick("code", "login", "password", "device", "pin", "proof", "refresh_token", "entry", "text", "share", "role", "company", "person", "state")
	switch m.r.IntN(16) {
	case 0:
		return "application/json", []byte(strings.Repeat("[", m.r.IntN(100000)))
	case 1:
		return "application/json", []byte(strings.Repeat(`{"a":`, m.r.IntN(20000)))
	case 2:
		return "application/json", fmt.Appendf(nil, `{"%s":%s}`, key, m.pick("1e999", "NaN", "-0", "null", "[]", "{}", "true", "1.0000000000000000000000001", `"\ud800"`, `"\u0000"`))
	case 3:
		return "application/json", fmt.Appendf(nil, `{"%s":"x","%s":"y"}`, key, key)
	case 4:
		return "application/json", []byte(`[` + strings.Repeat("1,", m.r.IntN(100000)) + `1]`)
	case 5:
		return "application/json", fmt.Appendf(nil, `{"%s":%q}`, key, m.junk())
	case 6:
		return "application/x-ndjson", fmt.Appendf(nil, `{"entry":{"e":%q,"b":%q}}`+"\n"+`{"end":{"frames":%d}}`, m.junk(), m.junk(), m.r.IntN(3))
	case 7:
		return "application/x-ndjson", fmt.Appendf(nil, `{"seal":{"dev":%q,"job":%q,"seq":%s}}`+"\n"+`{"end":{"frames":1}}`, m.junk(), m.job, m.pick("-1", "0", "9e99", `"x"`))
	case 8:
		return "application/x-www-form-urlencoded", fmt.Appendf(nil, "%s=%s&%s=%%zz&=&&&", key, m.junk(), key)
	case 9:
		return "application/x-www-form-urlencoded", []byte(strings.Repeat("a=b&", m.r.IntN(30000)))
	case 10:
		return "multipart/form-data; boundary=x", fmt.Appendf(nil, "--x\r\nContent-Disposition: form-data; name=\"photos\"; filename=\"%s\"\r\n\r\n%s\r\n--x%s", m.junk(), m.junk(), m.pick("--", "", "\r\n"))
	case 11:
		return "multipart/form-data" + m.pick("", "; boundary=", "; boundary="+strings.Repeat("y", 300)), []byte("--y\r\n\r\n")
	case 12:
		return "image/jpeg", append([]byte("\xff\xd8\xff\xe0"), m.junk()...)
	case 13:
		return "image/png", append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x75\x30\x00\x00\x75\x30\x08\x06"), m.junk()...)
	case 14:
		var z bytes.Buffer
		g := gzip.NewWriter(&z)
		_, _ = g.Write(make([]byte, 1<<20)) // to memory: it can't fail
		_ = g.Close()
		return "application/json\r\nContent-Encoding: gzip", z.Bytes()
	}
	return m.junk(), []byte(m.junk())
}

// request is a whole request as bytes.
func (m *malformed) request(host string) []byte {
	route := m.routes[m.r.IntN(len(m.routes))]
	method, path, version := route.Method, m.path(route.Path), "HTTP/1.1"
	media, body := m.body()
	if method == "GET" && m.r.IntN(2) == 0 {
		path += "?" + m.pick("cursor", "bytes", "code", "next", "from") + "=" + strings.ReplaceAll(m.junk(), " ", "+")
	}
	var b bytes.Buffer
	headers := []string{"Host: " + host, "Content-Type: " + strings.ReplaceAll(media, "\x00", ""), "Accept: " + m.pick("text/html", "*/*", "application/json", m.junk())}
	if m.r.IntN(4) > 0 {
		headers = append(headers, "Authorization: Bearer "+m.token, "Cookie: "+m.cookie, "Sec-Fetch-Site: same-origin")
	} else if m.r.IntN(2) == 0 {
		headers = append(headers, "Authorization: "+m.junk(), "Cookie: tacet-server="+m.junk())
	}
	length := strconv.Itoa(len(body))
	if m.r.IntN(2) == 0 {
		switch m.r.IntN(9) {
		case 0:
			method = m.pick("BREW", "get", "", "TRACE", "CONNECT", strings.Repeat("X", 300))
		case 1:
			version = m.pick("HTTP/9.9", "", "HTTP/1.0", "SMTP/1.1")
		case 2:
			length = m.pick("-1", "99999999999999999999", "x", "0", strconv.Itoa(len(body)+7), "1")
		case 3:
			headers = append(headers, "X-Long: "+strings.Repeat("h", m.r.IntN(1<<20)))
		case 4:
			headers = append(headers, "Transfer-Encoding: chunked")
		case 5:
			headers = append(headers, "Content-Length: 3", "Content-Length: 4")
		case 6:
			headers = append(headers, m.junk())
		case 7:
			for range m.r.IntN(2000) {
				headers = append(headers, "X-Many: y")
			}
		case 8:
			path = m.pick("*", "http://evil.example.net/", "//", "/%", "/..%2f..", "/"+strings.Repeat("a/", 5000), "\\")
		}
	}
	fmt.Fprintf(&b, "%s %s %s\r\n%s\r\nContent-Length: %s\r\nConnection: close\r\n\r\n", method, path, version, strings.Join(headers, "\r\n"), length)
	b.Write(body)
	return b.Bytes()
}

// A stop under load breaks no answer: what was begun is finished, what comes later finds no server.
func TestStopUnderLoad(t *testing.T) {
	url, stop := serve(t, nil, "--data", t.TempDir())
	addr := strings.TrimPrefix(strings.TrimSpace(url), "http://")
	var whole, broken, refused atomic.Int64
	done := make(chan struct{})
	for range 8 {
		go func() {
			defer func() { done <- struct{}{} }()
			for {
				c, err := net.Dial("tcp", addr)
				if err != nil {
					refused.Add(1)
					return
				}
				_ = c.SetDeadline(time.Now().Add(15 * time.Second)) // a connection just made
				if _, err := fmt.Fprintf(c, "GET /v1/hello HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", addr); err != nil {
					_ = c.Close()
					refused.Add(1)
					return
				}
				var answer bytes.Buffer
				_, _ = answer.ReadFrom(c) // what is missing shows below
				_ = c.Close()
				switch {
				case answer.Len() == 0:
					refused.Add(1) // taken by the system and never by the server: the next try goes to another
					return
				case strings.HasPrefix(answer.String(), "HTTP/1.1 200") && strings.HasSuffix(strings.TrimSpace(answer.String()), "}"):
					whole.Add(1)
				default:
					broken.Add(1)
				}
			}
		}()
	}
	time.Sleep(500 * time.Millisecond) // the load must run before it is stopped
	code := stop()
	for range 8 {
		<-done
	}
	if code != 0 || broken.Load() != 0 || whole.Load() < 20 {
		t.Errorf("stopped with %d; %d whole answers, %d broken, %d came too late", code, whole.Load(), broken.Load(), refused.Load())
	}
	t.Logf("%d whole answers, %d came too late", whole.Load(), refused.Load())
}
