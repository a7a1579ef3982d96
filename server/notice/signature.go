package notice

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"net/http"
	"strings"
	"time"
)

// sign puts the signature of RFC 9421 (HTTP message signatures, with hmac-sha256) on a request: over its method, its address, its content
// type and the digest of its body by RFC 9530.
func sign(req *http.Request, body, key []byte, keyID string, at time.Time) {
	sum := sha256.Sum256(body)
	req.Header.Set("Content-Digest", "sha-256=:"+base64.StdEncoding.EncodeToString(sum[:])+":")
	params := fmt.Sprintf(`("@method" "@target-uri" "content-type" "content-digest");created=%d;keyid="%s";alg="hmac-sha256"`, at.Unix(), keyID)
	value := func(name string) string {
		switch name {
		case "@method":
			return req.Method
		case "@target-uri":
			return req.URL.String()
		case "@authority":
			return strings.ToLower(req.URL.Host)
		}
		return strings.TrimSpace(req.Header.Get(name))
	}
	req.Header.Set("Signature-Input", "tacet="+params)
	req.Header.Set("Signature", "tacet=:"+base64.StdEncoding.EncodeToString(signature(params, value, key))+":")
}

// signature is the HMAC over the signature base of RFC 9421, section 2.5, which params describe.
func signature(params string, value func(name string) string, key []byte) []byte {
	m := hmac.New(sha256.New, key)
	list, _, _ := strings.Cut(strings.TrimPrefix(params, "("), ")")
	for _, name := range strings.Fields(list) {
		fmt.Fprintf(m, "%s: %s\n", name, value(strings.Trim(name, `"`)))
	}
	fmt.Fprintf(m, "\"@signature-params\": %s", params)
	return m.Sum(nil)
}
