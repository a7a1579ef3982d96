package notice

import (
	"encoding/base64"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
)

// The key, the request and the signature are those of RFC 9421, appendix B.2.5, "Signing a Request using hmac-sha256".
func TestSignatureOfTheStandard(t *testing.T) {
	key, err := base64.StdEncoding.DecodeString("uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ==")
	if err != nil {
		t.Fatal(err)
	}
	values := map[string]string{"date": "Tue, 20 Apr 2021 02:07:55 GMT", "@authority": "example.com", "content-type": "application/json"}
	got := signature(`("date" "@authority" "content-type");created=1618884473;keyid="test-shared-secret"`, func(name string) string { return values[name] }, key)
	if text := base64.StdEncoding.EncodeToString(got); text != "pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=" {
		t.Errorf("signature %s", text)
	}
}

func TestSignNamesWhatItCovers(t *testing.T) {
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "https://office.example.org/news?x=1", nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	sign(req, []byte(`{"hello": "world"}`), []byte("key"), "firm", time.Unix(1618884473, 0))
	// The digest of this body is that of RFC 9421, appendix B.2.
	if got := req.Header.Get("Content-Digest"); got != "sha-256=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:" {
		t.Errorf("digest %s", got)
	}
	if got := req.Header.Get("Signature-Input"); got != `tacet=("@method" "@target-uri" "content-type" "content-digest");created=1618884473;keyid="firm";alg="hmac-sha256"` {
		t.Errorf("input %s", got)
	}
	before := req.Header.Get("Signature")
	sign(req, []byte(`{"hello": "worle"}`), []byte("key"), "firm", time.Unix(1618884473, 0))
	if after := req.Header.Get("Signature"); after == before || !strings.HasPrefix(after, "tacet=:") {
		t.Errorf("another body is signed %s, as before", after)
	}
}

// Special networks are those of the IANA registries (RFC 6890 and what it names).
func TestOnlyPublicAddresses(t *testing.T) {
	for _, a := range []string{"127.0.0.1:25", "10.1.2.3:443", "172.16.0.1:443", "192.168.1.1:443", "169.254.169.254:80", "100.64.0.1:443", "0.0.0.0:443", "224.0.0.1:443", "255.255.255.255:443", "198.18.0.1:443", "192.0.2.1:443",
		"[::1]:25", "[::]:25", "[fe80::1%eth0]:443", "[fc00::1]:443", "[fd12::1]:443", "[::ffff:127.0.0.1]:443", "[::ffff:10.0.0.1]:443", "[64:ff9b::a00:1]:443", "[2002:a00:1::]:443", "[ff02::1]:443", "[2001:db8::1]:443"} {
		if err := onlyPublic(a); !errors.Is(err, jobs.ErrRefused) {
			t.Errorf("%s: %v", a, err)
		}
	}
	for _, a := range []string{"8.8.8.8:443", "1.1.1.1:25", "[2606:4700::1]:443", "172.32.0.1:443", "100.128.0.1:443"} {
		if err := onlyPublic(a); err != nil {
			t.Errorf("%s: %v", a, err)
		}
	}
}

func TestWaitGrows(t *testing.T) {
	for tries, want := range map[int]time.Duration{0: time.Minute, 1: time.Minute, 2: 2 * time.Minute, 5: 16 * time.Minute, 8: 2 * time.Hour, 60: 2 * time.Hour} {
		if got := wait(tries); got != want {
			t.Errorf("after %d tries: %s, want %s", tries, got, want)
		}
	}
}
