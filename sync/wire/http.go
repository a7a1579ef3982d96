package wire

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"syscall"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

// HTTP is a replica.Transport to one server.
type HTTP struct {
	base   string
	client *http.Client
	slow   *http.Client // for photos
	token  func(context.Context) (string, error)
	keyID  string
}

// NewHTTP gives a transport to the server at base. token is asked before every call and may refresh the sign-in; keyID
// is the id of the server's key, pinned at enrolment ("" before it). Plain http:// is for this machine alone.
func NewHTTP(base, keyID string, token func(context.Context) (string, error)) (*HTTP, error) {
	u, err := url.Parse(strings.TrimRight(base, "/"))
	if err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https") {
		return nil, &jobs.InputError{Field: "server", Value: strconv.Quote(base), Range: "an address such as https://tacet.example.org"}
	}
	if u.Scheme == "http" && !Loopback(u.Hostname()) {
		return nil, fmt.Errorf("server %s: %w", base, replica.ErrInsecure)
	}
	line := &http.Transport{
		Proxy:                 http.ProxyFromEnvironment,
		DialContext:           (&net.Dialer{Timeout: 10 * time.Second}).DialContext,
		TLSHandshakeTimeout:   10 * time.Second,
		ResponseHeaderTimeout: 30 * time.Second,
		ForceAttemptHTTP2:     true,
	}
	// a redirect is never ours: captive portals send them
	stay := func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &HTTP{
		base:   u.String(),
		keyID:  keyID,
		token:  token,
		client: &http.Client{Timeout: 2 * time.Minute, Transport: line, CheckRedirect: stay},
		slow:   &http.Client{Timeout: 20 * time.Minute, Transport: line, CheckRedirect: stay},
	}, nil
}

// Loopback tells whether a host, without its port, is this machine by its own name or address.
func Loopback(host string) bool {
	ip := net.ParseIP(host)
	return strings.EqualFold(host, "localhost") || ip != nil && ip.IsLoopback()
}

// Lanes asks what the server has of this device.
func (h *HTTP) Lanes(ctx context.Context) (l replica.Lanes, err error) {
	err = h.getJSON(ctx, "/v1/lanes", &l)
	return l, err
}

// People asks for the company's directory.
func (h *HTTP) People(ctx context.Context) ([]replica.Person, error) {
	var p People
	err := h.getJSON(ctx, "/v1/people", &p)
	return p.People, err
}

// Hello asks what the server is; it needs no sign-in.
func (h *HTTP) Hello(ctx context.Context) (hello Hello, err error) {
	res, err := h.do(ctx, request{method: http.MethodGet, path: "/v1/hello", open: true, want: MediaJSON})
	if err != nil {
		return hello, err
	}
	return hello, readJSON(res, &hello)
}

// Push sends a batch.
func (h *HTTP) Push(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	return h.sendBatch(ctx, "/v1/push", b, false)
}

func (h *HTTP) sendBatch(ctx context.Context, path string, b replica.Batch, open bool) (replica.Answer, error) {
	size := 4 << 10 // seals and the trailer
	for _, e := range b.Entries {
		size += (len(e.Env)+len(e.Body))*5/4 + 128 // quotes take two bytes
	}
	var body bytes.Buffer
	body.Grow(size)
	if err := WriteBatch(&body, b); err != nil {
		return replica.Answer{}, fmt.Errorf("write batch: %w", err)
	}
	res, err := h.do(ctx, request{method: http.MethodPost, path: path, body: body.Bytes(), media: MediaFrames, want: MediaFrames, open: open})
	if err != nil {
		return replica.Answer{}, err
	}
	defer res.Body.Close()
	a, err := ReadAnswer(res.Body)
	return a, cutIsUnreachable(err)
}

// Offer gives the server what it has lost of others.
func (h *HTTP) Offer(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	return h.sendBatch(ctx, "/v1/offer", b, false)
}

// Aside leaves what a revoked device has not sent with the server. It needs no sign-in: the seals are the device's word.
func (h *HTTP) Aside(ctx context.Context, b replica.Batch) (int, error) {
	a, err := h.sendBatch(ctx, "/v1/aside", b, true)
	return len(a.Verdicts), err
}

// Pull asks for the log behind a cursor.
func (h *HTTP) Pull(ctx context.Context, c replica.Cursor, maxBytes int) (replica.Page, error) {
	q := url.Values{"cursor": {FormatCursor(c)}, "bytes": {strconv.Itoa(maxBytes)}}
	res, err := h.do(ctx, request{method: http.MethodGet, path: "/v1/pull?" + q.Encode(), want: MediaFrames})
	if err != nil {
		return replica.Page{}, err
	}
	defer res.Body.Close()
	p, err := ReadPage(res.Body)
	return p, cutIsUnreachable(err)
}

// Access asks what was said about access, and what this device sees.
func (h *HTTP) Access(ctx context.Context) (a replica.AccessAnswer, err error) {
	err = h.getJSON(ctx, "/v1/access", &a)
	return a, err
}

// SaidRequest is POST /v1/access: what a server said about access and may not know any more.
type SaidRequest struct {
	Access []replica.Access `json:"access"`
}

// BringAccess tells the server what it said and does not know any more.
func (h *HTTP) BringAccess(ctx context.Context, said []replica.Access) error {
	body, err := json.Marshal(SaidRequest{Access: said})
	if err != nil {
		return fmt.Errorf("write what was said about access: %w", err)
	}
	res, err := h.do(ctx, request{method: http.MethodPost, path: "/v1/access", body: body, media: MediaJSON})
	if err != nil {
		return err
	}
	return res.Body.Close()
}

// History asks for the log about one job, behind one position and up to another.
func (h *HTTP) History(ctx context.Context, job string, after, upto int64, maxBytes int) (replica.Page, error) {
	q := url.Values{"after": {strconv.FormatInt(after, 10)}, "upto": {strconv.FormatInt(upto, 10)}, "bytes": {strconv.Itoa(maxBytes)}}
	res, err := h.do(ctx, request{method: http.MethodGet, path: "/v1/jobs/" + url.PathEscape(job) + "/history?" + q.Encode(), want: MediaFrames})
	if err != nil {
		return replica.Page{}, err
	}
	defer res.Body.Close()
	p, err := ReadPage(res.Body)
	return p, cutIsUnreachable(err)
}

// SendPhoto sends a piece of a photo; an empty one asks what is there.
func (h *HTTP) SendPhoto(ctx context.Context, job string, sha jobs.Hash, at, size int64, piece []byte) (replica.PhotoPart, error) {
	var p replica.PhotoPart
	q := url.Values{"at": {strconv.FormatInt(at, 10)}, "of": {strconv.FormatInt(size, 10)}}
	res, err := h.do(ctx, request{method: http.MethodPut, path: photoPath(job, sha) + "?" + q.Encode(), body: piece, media: MediaPhoto,
		digest: ContentDigest(piece), want: MediaJSON})
	if err != nil {
		return p, err
	}
	return p, readJSON(res, &p)
}

// FetchPhoto fetches a piece of a photo, checked on arrival, and tells how long the whole is.
func (h *HTTP) FetchPhoto(ctx context.Context, job string, sha jobs.Hash, at int64, n int) ([]byte, int64, error) {
	res, err := h.do(ctx, request{method: http.MethodGet, path: photoPath(job, sha), want: MediaPhoto,
		bytes: fmt.Sprintf("bytes=%d-%d", at, at+int64(n)-1)})
	if err != nil {
		return nil, 0, err
	}
	defer res.Body.Close()
	piece, err := io.ReadAll(io.LimitReader(res.Body, replica.MaxPhoto+1))
	if err != nil {
		return nil, 0, fmt.Errorf("%w: the photo was cut: %w", replica.ErrCut, plain(err))
	}
	var first, last, size int64
	if _, err := fmt.Sscanf(res.Header.Get("Content-Range"), "bytes %d-%d/%d", &first, &last, &size); err != nil || first != at || last-first+1 != int64(len(piece)) {
		return nil, 0, fmt.Errorf("another piece of photo %s came than was asked for: %w", sha, replica.ErrUnreachable)
	}
	if res.Header.Get(HeaderDigest) != ContentDigest(piece) {
		return nil, 0, fmt.Errorf("a piece of photo %s arrived changed or cut: %w", sha, replica.ErrUnreachable)
	}
	return piece, size, nil
}

func photoPath(job string, sha jobs.Hash) string {
	return "/v1/jobs/" + url.PathEscape(job) + "/photos/" + sha.String()
}

// ContentDigest is the value of the Content-Digest header, RFC 9530.
func ContentDigest(data []byte) string {
	sum := sha256.Sum256(data)
	return "sha-256=:" + base64.StdEncoding.EncodeToString(sum[:]) + ":"
}

// FormatCursor writes a cursor for the query of GET /v1/pull; "" is the beginning.
func FormatCursor(c replica.Cursor) string {
	if c.Epoch == "" {
		return ""
	}
	return fmt.Sprintf("%s.%d.%s.%s", c.Epoch, c.N, c.Head, base64.RawURLEncoding.EncodeToString(c.Sig))
}

// ParseCursor reads what FormatCursor wrote.
func ParseCursor(s string) (replica.Cursor, error) {
	if s == "" {
		return replica.Cursor{}, nil
	}
	bad := &replica.Refusal{Err: replica.ErrBadFrame, Says: "the cursor is not one of ours"}
	part := strings.Split(s, ".")
	if len(part) != 4 || part[0] == "" {
		return replica.Cursor{}, bad
	}
	n, err := strconv.ParseInt(part[1], 10, 64)
	if err != nil || n < 0 {
		return replica.Cursor{}, bad
	}
	head, err := jobs.ParseHash(part[2])
	if err != nil {
		return replica.Cursor{}, bad
	}
	sig, err := base64.RawURLEncoding.DecodeString(part[3])
	if err != nil {
		return replica.Cursor{}, bad
	}
	return replica.Cursor{Epoch: part[0], N: n, Head: head, Sig: sig}, nil
}

type request struct {
	method, path string
	body         []byte
	media        string // of the body
	digest       string
	bytes        string // range asked for, "" for all
	want         string // media type of the answer, "" for none
	open         bool   // needs no sign-in
}

// do makes one call. What comes back is an answer of our server, of the media type asked for; everything else is an
// error, ErrUnreachable unless the server itself said otherwise.
func (h *HTTP) do(ctx context.Context, q request) (*http.Response, error) {
	req, err := http.NewRequestWithContext(ctx, q.method, h.base+q.path, bytes.NewReader(q.body))
	if err != nil {
		return nil, fmt.Errorf("call %s: %w", q.path, err)
	}
	req.Header.Set(HeaderProtocol, strconv.Itoa(Protocol))
	if q.media != "" {
		req.Header.Set("Content-Type", q.media)
	}
	if q.digest != "" {
		req.Header.Set(HeaderDigest, q.digest)
	}
	if q.bytes != "" {
		req.Header.Set("Range", q.bytes)
	}
	if !q.open {
		token, err := h.token(ctx)
		if err != nil {
			return nil, err
		}
		req.Header.Set("Authorization", "Bearer "+token)
	}
	client := h.client
	if q.media == MediaPhoto || q.want == MediaPhoto {
		client = h.slow // a piece of a photo takes its time on a slow link
	}
	res, err := client.Do(req)
	if err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("%w at %s: %w", lineError(err), req.URL.Host, plain(err))
	}
	if err := h.ours(res, q); err != nil {
		res.Body.Close()
		return nil, err
	}
	return res, nil
}

// lineError tells a line that was cut from one that is not there.
func lineError(err error) error {
	var at *net.OpError
	if errors.As(err, &at) && at.Op == "dial" {
		return replica.ErrUnreachable
	}
	return replica.ErrCut
}

// plain takes the address, which may hold a cursor, and the way through the layers off an error of the network.
func plain(err error) error {
	var at *url.Error
	if errors.As(err, &at) {
		if at.Timeout() {
			return errors.New("no answer in time")
		}
		err = at.Err
	}
	var name *net.DNSError
	var number syscall.Errno
	switch {
	case errors.As(err, &name):
		return errors.New("no such name")
	case errors.As(err, &number):
		return number
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("it was cut")
	}
	return err
}

func (h *HTTP) ours(res *http.Response, q request) error {
	id := res.Header.Get(HeaderServer)
	if id == "" {
		return fmt.Errorf("what answers at %s is not a Tacet server: %w", res.Request.URL.Host, replica.ErrUnreachable)
	}
	if h.keyID != "" && id != h.keyID {
		return fmt.Errorf("what answers at %s is not the server that this home enrolled with: %w", res.Request.URL.Host, replica.ErrUnreachable)
	}
	media, _, err := mime.ParseMediaType(res.Header.Get("Content-Type"))
	if err != nil {
		media = ""
	}
	if res.StatusCode >= 400 {
		return problemIn(res, media)
	}
	if res.StatusCode < 200 || res.StatusCode > 299 || q.want != "" && media != q.want {
		return fmt.Errorf("the answer of %s is not what was asked for: %w", res.Request.URL.Host, replica.ErrUnreachable)
	}
	return nil
}

func problemIn(res *http.Response, media string) error {
	var p Problem
	body, err := io.ReadAll(io.LimitReader(res.Body, 64<<10))
	if err != nil || media != MediaProblem || json.Unmarshal(body, &p) != nil {
		return fmt.Errorf("status %d without a problem document: %w", res.StatusCode, replica.ErrUnreachable)
	}
	p.Status = res.StatusCode
	if s, err := strconv.Atoi(res.Header.Get("Retry-After")); err == nil && s > 0 {
		p.RetryAfter = s
	}
	return p.Err()
}

func (h *HTTP) getJSON(ctx context.Context, path string, into any) error {
	res, err := h.do(ctx, request{method: http.MethodGet, path: path, want: MediaJSON})
	if err != nil {
		return err
	}
	return readJSON(res, into)
}

// readJSON takes keys it does not know: a newer server may say more.
func readJSON(res *http.Response, into any) error {
	defer res.Body.Close()
	body, err := io.ReadAll(io.LimitReader(res.Body, 8<<20))
	if err != nil {
		return fmt.Errorf("%w: the answer was cut: %w", replica.ErrCut, plain(err))
	}
	if err := json.Unmarshal(body, into); err != nil {
		return fmt.Errorf("the answer was cut or is not one of ours: %w", replica.ErrUnreachable)
	}
	return nil
}

func cutIsUnreachable(err error) error {
	if errors.Is(err, errCut) {
		return fmt.Errorf("%w: %w", replica.ErrCut, err)
	}
	if errors.Is(err, replica.ErrBadFrame) {
		return fmt.Errorf("%w: %w", replica.ErrUnreachable, err)
	}
	return err
}
