package app_test

import (
	"bytes"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tacet/jobs"
)

// Uploads that are no photos, or photos that are not theirs to bring, and header fields that try to be somebody else: listed, counted, and
// each refused.
func TestUploadsAndHeadersOfAttackers(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d := w.enrol(w.co, "m.reed", jobs.Site)
		r := d.record()
		job := d.importJob(r)
		d.sync(r)
		foreign := w.enrol(w.company("Another (invented)"), "foreign.one", jobs.Owner)
		theirJob, _, theirPhoto := jobToTry(t, foreign)
		good := picture(t, color.Gray{77})
		named := func(data []byte) string { // an entry of the job names it, so that only its content is judged
			t.Helper()
			h, err := d.blobs.Put(t.Context(), w.co.ID, data)
			if err != nil {
				t.Fatal(err)
			}
			d.do(r, job, `{"do":"photo","surface":"C1","file":"`+h.String()+`"}`)
			if _, err := r.Push(t.Context(), d.http); err != nil {
				t.Fatal(err)
			}
			return h.String()
		}
		put := func(path string, data []byte, header map[string]string) int {
			t.Helper()
			return w.call(request{method: "PUT", path: path, token: d.answer.AccessToken, media: "image/jpeg", body: data, header: header}).status
		}
		at := func(sha string) string { return "/v1/jobs/" + job + "/photos/" + sha }

		bodies := map[string][]byte{
			"HTML called a photo": []byte("<!doctype html><script>alert(1)</script>"), "SVG": []byte(`<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`),
			"a program": append([]byte("\x7fELF\x02\x01\x01"), make([]byte, 60)...), "PHP": []byte("<?php system($_GET['c']); ?>"), "a zip": []byte("PK\x03\x04aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"),
			"GIF": gifOf(t), "PNG": pngOf(t), "one byte": {0xff}, "half a head": good[:20], "JPEG that ends after its mark": {0xff, 0xd8, 0xff},
			"a bomb of pixels": bomb(t, good), "a PNG bomb": pngBomb(), "PDF": []byte("%PDF-1.7\n1 0 obj"), "text": []byte("a shopping list"),
		}
		tried := 0
		for name, data := range bodies {
			sha := named(data)
			for _, query := range []string{"", fmt.Sprintf("?at=0&of=%d", len(data))} {
				if got := put(at(sha)+query, data, nil); got < 400 || got >= 500 {
					t.Errorf("%s, %q: %d", name, query, got)
				}
				tried++
			}
			if res := w.call(request{method: "GET", path: at(sha), token: d.answer.AccessToken}); res.status != http.StatusNotFound {
				t.Errorf("%s is handed out: %d", name, res.status)
			}
		}
		sha, whole := named(good), fmt.Sprintf("?at=0&of=%d", len(good))
		for name, got := range map[string]int{
			"another photo than its address":     put(at(sha), picture(t, color.Gray{78}), nil),
			"another digest than its header":     put(at(sha), good, map[string]string{"Content-Digest": "sha-256=:AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=:"}),
			"a photo that nothing names":         put(at(jobs.HashBlob([]byte("nothing")).String()), []byte("nothing"), nil),
			"a job of another company":           put("/v1/jobs/"+theirJob+"/photos/"+theirPhoto, good, nil),
			"a job that is none":                 put("/v1/jobs/"+uuid.Must(uuid.NewV7()).String()+"/photos/"+sha, good, nil),
			"another company's photo in our job": put(at(theirPhoto), good, nil),
			"a path for a name":                  put("/v1/jobs/"+job+"/photos/..%2f..%2f..%2fetc%2fpasswd", good, nil),
			"a piece before the beginning":       put(at(sha)+"?at=-1&of=9", good, nil),
			"a piece past the end":               put(at(sha)+"?at=9&of=3", good, nil),
			"a whole that is too large":          put(at(sha)+"?at=0&of=99999999999", good, nil),
			"numbers that are none":              put(at(sha)+"?at=x&of=1e9", good, nil),
			"pieces beyond a piece":              put(at(sha)+whole, make([]byte, 300<<10), nil),
			"more than a photo may have":         put(at(sha), make([]byte, 13<<20), nil),
		} {
			if got < 400 || got >= 500 {
				t.Errorf("%s: %d", name, got)
			}
			tried++
		}
		if got := put(at(sha), good, nil); got != http.StatusOK {
			t.Errorf("the right one: %d, so the list above proves little", got)
		}
		uploads := tried

		// Header fields that other software believes. None makes somebody of nobody, or an owner of the site team.
		w.user(w.co, "s.hand", jobs.Site)
		site := w.signIn("s.hand")
		tried = 0
		for _, h := range []string{"X-Forwarded-User", "X-Remote-User", "Remote-User", "X-User", "X-User-Id", "X-Role", "X-Forwarded-Email", "X-Auth-Request-User", "X-Company", "X-Tenant-Id",
			"X-Original-URL", "X-Rewrite-URL", "X-Forwarded-Prefix", "X-HTTP-Method-Override", "X-Method-Override", "X-Forwarded-For", "Forwarded", "X-Real-IP", "True-Client-IP", "X-Forwarded-Host"} {
			for _, value := range []string{"m.reed", "owner", "/openapi.json", "GET", "127.0.0.1"} {
				if res := w.call(request{method: "GET", path: "/v1/people", header: map[string]string{h: value}}); res.status != http.StatusUnauthorized {
					t.Errorf("%s: %s makes nobody somebody: %d", h, value, res.status)
				}
				if res := w.call(request{method: "GET", path: "/people", header: map[string]string{h: value, "Cookie": site.cookie, "Accept": "text/html"}}); res.status != http.StatusForbidden {
					t.Errorf("%s: %s shows the site team the people: %d", h, value, res.status)
				}
				tried += 2
			}
		}
		for name, res := range map[string]response{
			"TRACE":                       w.call(request{method: "TRACE", path: "/people", header: map[string]string{"Cookie": site.cookie, "X-Secret": "echo"}}),
			"DELETE of a page":            w.call(request{method: "DELETE", path: "/people", header: map[string]string{"Cookie": site.cookie}}),
			"a token as a cookie":         w.call(request{method: "GET", path: "/account", header: map[string]string{"Cookie": "tacet-server=" + d.answer.AccessToken, "Accept": "text/html"}}),
			"a cookie as a token":         w.call(request{method: "GET", path: "/v1/people", token: strings.TrimPrefix(site.cookie, "tacet-server=")}),
			"a token in the address":      w.call(request{method: "GET", path: "/v1/people?access_token=" + d.answer.AccessToken}),
			"a form of another site":      w.call(request{method: "POST", path: "/account/password", media: "application/x-www-form-urlencoded", header: map[string]string{"Cookie": site.cookie, "Sec-Fetch-Site": "cross-site"}}),
			"a form of a sister site":     w.call(request{method: "POST", path: "/account/password", media: "application/x-www-form-urlencoded", header: map[string]string{"Cookie": site.cookie, "Sec-Fetch-Site": "same-site"}}),
			"a form of an older browser":  w.call(request{method: "POST", path: "/account/password", media: "application/x-www-form-urlencoded", header: map[string]string{"Cookie": site.cookie, "Origin": "https://elsewhere.example"}}),
			"a form of no origin at all":  w.call(request{method: "POST", path: "/account/password", media: "application/x-www-form-urlencoded", header: map[string]string{"Cookie": site.cookie, "Origin": "null"}}),
			"an old protocol":             w.call(request{method: "GET", path: "/v1/people", token: d.answer.AccessToken, header: map[string]string{"Tacet-Protocol": "0"}}),
			"another's cookie beside one": w.call(request{method: "GET", path: "/people", header: map[string]string{"Cookie": "tacet-server=x; " + site.cookie, "Accept": "text/html"}}),
		} {
			if res.status < 300 || res.status >= 500 || res.status < 400 && !strings.HasPrefix(res.header.Get("Location"), "/sign-in") || bytes.Contains(res.body, []byte("echo")) {
				t.Errorf("%s: %d %s", name, res.status, res.header.Get("Location"))
			}
			tried++
		}
		if uploads < 40 || tried < 200 {
			t.Errorf("%d uploads and %d requests with header fields", uploads, tried)
		}
		t.Logf("evidence: %d hostile uploads and %d requests with hostile header fields, all refused", uploads, tried)
	})
}

// gifOf and pngOf are pictures, of sorts that no device sends.
func gifOf(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := gif.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8))); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// bomb is a JPEG that says that it is 65,000 pixels wide and high.
func bomb(t *testing.T, good []byte) []byte {
	t.Helper()
	b := bytes.Clone(good)
	at := bytes.Index(b, []byte{0xff, 0xc0})
	if at < 0 {
		t.Fatal("no frame in the picture")
	}
	copy(b[at+5:], []byte{0xfd, 0xe8, 0xfd, 0xe8})
	if head, err := jpeg.DecodeConfig(bytes.NewReader(b)); err != nil || head.Width != 65000 {
		t.Fatalf("the bomb is %d wide, %v", head.Width, err)
	}
	return b
}

// pngBomb is the head of a PNG of 30,000 x 30,000 pixels.
func pngBomb() []byte {
	head := []byte("IHDR\x00\x00\x75\x30\x00\x00\x75\x30\x08\x06\x00\x00\x00")
	b := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), head...)
	sum := crc32.ChecksumIEEE(head)
	return append(b, byte(sum>>24), byte(sum>>16), byte(sum>>8), byte(sum))
}
