package app_test

import (
	"bytes"
	"fmt"
	"image/color"
	"net/http"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

func TestBadInput(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d := w.enrol(w.co, "m.reed", jobs.Site)
		token := d.answer.AccessToken
		r := d.record()
		job := d.importJob(r)
		name := func(data []byte) string {
			sha, err := d.blobs.Put(t.Context(), w.co.ID, data)
			if err != nil {
				t.Fatal(err)
			}
			d.do(r, job, `{"do":"photo","surface":"C1","file":"`+sha.String()+`"}`)
			return "/v1/jobs/" + job + "/photos/" + sha.String()
		}
		text := []byte("<html><script>alert(1)</script></html>")
		bomb := bombJPEG(t)
		large := make([]byte, 40<<20)
		notPicture, pixelBomb, named := name(text), name(bomb), name(picture(t, color.Gray{90}))
		// Only the entries go over, not the photos: they are what is tried below.
		if _, err := r.Push(t.Context(), d.http); err != nil {
			t.Fatal(err)
		}

		enrol := func(body string) request {
			return request{method: "POST", path: "/v1/enrol", media: wire.MediaJSON, body: []byte(body)}
		}
		push := func(body string) request {
			return request{method: "POST", path: "/v1/push", media: wire.MediaFrames, token: token, body: []byte(body)}
		}
		get := func(path string) request { return request{method: "GET", path: path, token: token} }
		put := func(path string, body []byte) request {
			return request{method: "PUT", path: path, media: wire.MediaPhoto, token: token, body: body}
		}
		entry := `{"entry":{"e":"{}"}}` + "\n"
		for _, c := range []struct {
			name   string
			q      request
			status int
			says   string // in the detail
		}{
			{"unknown key", enrol(`{"code":"x","colour":"red"}`), 422, "colour is an unknown key"},
			{"key in capitals", enrol(`{"Code":"x"}`), 422, "Code is an unknown key"},
			{"key twice", enrol(`{"code":"x","code":"y"}`), 422, "given twice"},
			{"NaN", enrol(`{"code":NaN}`), 422, "not JSON"},
			{"number for text", enrol(`{"code":7}`), 422, "code is 7; give text"},
			{"list for object", enrol(`[1]`), 422, "object"},
			{"null for text", enrol(`{"code":null}`), 422, "code is null"},
			{"number beyond all", enrol(`{"proof":{"at":1e999}}`), 422, "proof.at"},
			{"fraction for a whole number", enrol(`{"proof":{"at":1.5}}`), 422, "whole number"},
			{"trailing data", enrol(`{"code":"x"}{}`), 422, "more data"},
			{"truncated", enrol(`{"code":"x"`), 422, "not complete JSON"},
			{"empty", enrol(``), 422, "empty"},
			{"not UTF-8", enrol("{\"code\":\"\xff\"}"), 422, "UTF-8"},
			{"deep", enrol(strings.Repeat("[", 100000)), 413, ""},
			{"deep but small", enrol(strings.Repeat("[", 10000)), 422, "nested"},
			{"65 KiB of request", enrol(`{"code":"` + strings.Repeat("x", 65<<10) + `"}`), 413, "64 KiB"},
			{"key of three bytes", enrol(`{"code":"x","device":"01890a5d-ac96-774b-bcce-b302099a8057","public_key":"AAAA","proof":{"at":0,"sig":""}}`), 422, "key is 3 bytes"},
			{"device that is a path", enrol(`{"code":"x","device":"../../etc/passwd","public_key":"","proof":{"at":0,"sig":""}}`), 422, "device is"},
			{"time beyond what is exact", enrol(`{"code":"x","proof":{"at":9223372036854775807,"sig":""}}`), 422, "proof"},
			{"gzip", request{method: "POST", path: "/v1/enrol", body: []byte("\x1f\x8b"), header: map[string]string{"Content-Encoding": "gzip"}}, 415, ""},

			{"push of nothing", push(``), 400, "no trailer"},
			{"push without a trailer", push(entry), 400, "no trailer"},
			{"push cut in a line", push(entry + `{"entry":{"e":"{`), 400, "not a frame"},
			{"push of an empty batch", push(`{"end":{"frames":0}}`), 400, "empty"},
			{"trailer that counts wrongly", push(entry + `{"end":{"frames":7}}`), 400, "counts 7"},
			{"something behind the trailer", push(`{"end":{"frames":0}}` + "\n" + entry), 400, "behind"},
			{"envelope that is none", push(entry + `{"end":{"frames":1}}`), 400, ""},
			{"envelope that is no JSON", push(`{"entry":{"e":"NaN"}}` + "\n" + `{"end":{"frames":1}}`), 400, ""},
			{"one endless line", push(strings.Repeat("x", 1<<20)), 400, "too long"},
			{"501 entries", push(strings.Repeat(entry, 501) + `{"end":{"frames":501}}`), 413, ""},
			{"5 MiB of batch", push(strings.Repeat(entry, 5<<20/len(entry))), 413, ""},
			{"binary", push("\x00\x01\x02\n"), 400, ""},

			{"cursor that is none", get("/v1/pull?cursor=x"), 400, "cursor"},
			{"cursor with a bad number", get("/v1/pull?cursor=e.NaN.x.y"), 400, "cursor"},
			{"cursor of another log", get("/v1/pull?cursor=" + wire.FormatCursor(replica.Cursor{Epoch: "e", N: 1, Head: jobs.Hash{1}, Sig: []byte{1}})), 409, ""},
			{"bytes that are no number", get("/v1/pull?bytes=NaN"), 422, "bytes"},
			{"bytes below nothing", get("/v1/pull?bytes=-1"), 422, "bytes"},

			{"photo of no entry", put("/v1/jobs/"+job+"/photos/"+jobs.HashBlob([]byte("x")).String(), []byte("x")), 404, ""},
			{"40 MB photo of no entry", put("/v1/jobs/"+job+"/photos/"+jobs.HashBlob(large).String(), large), 404, ""},
			{"40 MB photo", put(named, large), 413, "12288 KiB"},
			{"another photo than named", put(named, picture(t, color.Gray{91})), 422, ""},
			{"photo that is a page", put(notPicture, text), 422, "JPEG"},
			{"photo that unpacks to gigabytes", put(pixelBomb, bomb), 422, "million pixels"},
			{"digest of another photo", request{method: "PUT", path: named, token: token, body: picture(t, color.Gray{90}), header: map[string]string{wire.HeaderDigest: wire.ContentDigest([]byte("x"))}}, 422, "digest"},
			{"hash that is none", get("/v1/jobs/" + job + "/photos/..%2f..%2fetc"), 404, ""},
			{"job that is a path", get("/v1/jobs/..%2f..%2fx/photos/" + jobs.HashBlob(text).String()), 404, ""},
			{"job that is SQL", get("/v1/jobs/'%20OR%201=1%20--/photos/" + jobs.HashBlob(text).String()), 404, ""},

			{"no such path", get("/v1/everything"), 404, ""},
			{"wrong method", request{method: "DELETE", path: "/v1/people", token: token}, 405, ""},
		} {
			res, err := w.try(c.q)
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			p := res.problem(t, c.name, c.status)
			if !strings.Contains(p.Detail, c.says) {
				t.Errorf("%s: says %q, want %q in it", c.name, p.Detail, c.says)
			}
			if strings.ContainsAny(p.Detail+p.Title, "\n\r") {
				t.Errorf("%s: says more than one line", c.name)
			}
		}
		// A header that is too long is not read to its end, so the answer may be lost on the way; it must not be taken.
		long, err := w.try(request{method: "GET", path: "/v1/hello", header: map[string]string{"X-Long": strings.Repeat("x", 20<<10)}})
		if err == nil {
			long.problem(t, "20 KiB of header", 431)
		}
		if strings.Contains(w.log.String(), `"level":"ERROR"`) {
			t.Errorf("bad input was logged as an error of ours:\n%s", w.log)
		}
		// After all that the server is as before.
		d.do(r, job, `{"do":"note","text":"after all that"}`)
		if sent, err := r.Push(t.Context(), d.http); err != nil || sent.Entries != 1 {
			t.Errorf("push: %+v, %v", sent, err)
		}
		if _, err := w.Replica.VerifyLog(t.Context(), w.co.ID); err != nil {
			t.Error(err)
		}
	})
}

// bombJPEG is a picture whose head says that it is 30,000 by 30,000 pixels.
func bombJPEG(t *testing.T) []byte {
	t.Helper()
	b := picture(t, color.Gray{1})
	sof := bytes.Index(b, []byte{0xff, 0xc0})
	if sof < 0 {
		t.Fatal("the picture has no frame header")
	}
	copy(b[sof+5:], []byte{30000 >> 8, 30000 & 0xff, 30000 >> 8, 30000 & 0xff})
	return b
}

// What goes wrong inside says nothing of the inside: an id, by which the line is found in the log.
func TestInnerTextStaysInside(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	if err := w.DropTable("account_holder"); err != nil {
		t.Fatal(err)
	}
	res := w.call(request{method: "POST", path: "/v1/push", token: d.answer.AccessToken, media: wire.MediaFrames, body: []byte(`{"end":{"frames":0}}`)})
	p := res.problem(t, "push without a table", 500)
	if strings.Contains(string(res.body), "account_holder") || strings.Contains(string(res.body), "SQL") {
		t.Errorf("the answer tells of the inside: %s", res.body)
	}
	if p.InstanceID == "" || !strings.Contains(w.log.String(), p.InstanceID) || !strings.Contains(w.log.String(), "account_holder") {
		t.Errorf("id %q leads to nothing in the log", p.InstanceID)
	}
}

// A connection may carry several requests; what one did not read must not be taken for the next.
func TestUnreadBodyIsNotTheNextRequest(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	smuggled := fmt.Sprintf("GET /v1/hello HTTP/1.1\r\nHost: %s\r\n\r\n", strings.TrimPrefix(w.URL, "http://"))
	client := http.Client{}
	for range 3 {
		req, err := http.NewRequestWithContext(t.Context(), "POST", w.URL+"/v1/push", strings.NewReader(strings.Repeat(" ", 20<<10)+smuggled))
		if err != nil {
			t.Fatal(err)
		}
		res, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != 401 {
			t.Errorf("status %d", res.StatusCode)
		}
	}
	if strings.Contains(w.log.String(), `"route":"/v1/hello"`) {
		t.Error("a body was taken for a request")
	}
}
