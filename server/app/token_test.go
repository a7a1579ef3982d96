package app_test

import (
	"crypto"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/base64"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"tacet/jobs"
	"tacet/sync/wire"
)

// forge signs claims as a server would, with one thing changed.
type forge struct {
	method jwt.SigningMethod
	key    any
	header map[string]any
	claims jwt.MapClaims
}

func TestForgedTokens(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d := w.enrol(w.co, "m.reed", jobs.Site)
		good := d.answer.AccessToken
		if r := w.call(request{method: "GET", path: "/v1/people", token: good}); r.status != 200 {
			t.Fatalf("the right token gets %d: %s", r.status, r.body)
		}
		public := w.keys.Token.Public().(ed25519.PublicKey)
		der, err := x509.MarshalPKIXPublicKey(public)
		if err != nil {
			t.Fatal(err)
		}
		strange := newKey(t)
		sign := func(change func(*forge)) string {
			t.Helper()
			now := time.Now()
			f := forge{method: jwt.SigningMethodEdDSA, key: crypto.Signer(w.keys.Token),
				header: map[string]any{"typ": "at+jwt", "kid": wire.KeyID(public)},
				claims: jwt.MapClaims{"iss": "urn:uuid:" + w.keys.Server, "aud": []string{"tacet server"}, "sub": d.answer.Person, "jti": "x",
					"iat": now.Unix(), "exp": now.Add(5 * time.Minute).Unix(), "co": w.co.ID, "dev": d.id}}
			change(&f)
			token := jwt.NewWithClaims(f.method, f.claims)
			token.Header["typ"] = "at+jwt"
			for k, v := range f.header {
				token.Header[k] = v
			}
			text, err := token.SignedString(f.key)
			if err != nil {
				t.Fatal(err)
			}
			return text
		}
		if r := w.call(request{method: "GET", path: "/v1/people", token: sign(func(*forge) {})}); r.status != 200 {
			t.Fatalf("the forge's unchanged token gets %d: the table below would prove nothing", r.status)
		}
		claim := func(name string, value any) string {
			return sign(func(f *forge) {
				if value == nil {
					delete(f.claims, name)
				} else {
					f.claims[name] = value
				}
			})
		}
		header := func(name string, value any) string { return sign(func(f *forge) { f.header[name] = value }) }
		part := strings.Split(good, ".")
		far := time.Now().Add(365 * 24 * time.Hour)
		other := w.enrol(w.company("Another (invented)"), "stranger", jobs.Owner)
		tokens := map[string]string{
			"none":                          sign(func(f *forge) { f.method, f.key = jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType }),
			"HS256 with the public key":     sign(func(f *forge) { f.method, f.key = jwt.SigningMethodHS256, []byte(public) }),
			"HS256 with the public key DER": sign(func(f *forge) { f.method, f.key = jwt.SigningMethodHS256, der }),
			"HS512 with nothing":            sign(func(f *forge) { f.method, f.key = jwt.SigningMethodHS512, []byte{} }),
			"another key":                   sign(func(f *forge) { f.key = crypto.Signer(strange) }),
			"the record's key":              sign(func(f *forge) { f.key = crypto.Signer(w.keys.Record) }),
			"kid of another key":            header("kid", wire.KeyID(strange.Public().(ed25519.PublicKey))),
			"kid is a path":                 header("kid", "../../../../dev/null"),
			"kid is SQL":                    header("kid", "' OR 1=1 --"),
			"kid is a number":               header("kid", 1),
			"brings its key":                sign(func(f *forge) { f.key, f.header["jwk"] = crypto.Signer(strange), map[string]any{"kty": "OKP"} }),
			"names where its key lies":      header("jku", "https://keys.example.org/"),
			"names a certificate":           header("x5u", "https://keys.example.org/"),
			"critical extension":            header("crit", []string{"exp"}),
			"typ JWT":                       header("typ", "JWT"),
			"typ of a refresh token":        header("typ", "rt+jwt"),
			"no exp":                        claim("exp", nil),
			"expired":                       claim("exp", time.Now().Add(-time.Second).Unix()),
			"lives for a year":              claim("exp", far.Unix()),
			"no iat":                        claim("iat", nil),
			"issued in a year":              sign(func(f *forge) { f.claims["iat"], f.claims["exp"] = far.Unix(), far.Add(time.Minute).Unix() }),
			"not yet valid":                 claim("nbf", far.Unix()),
			"no aud":                        claim("aud", nil),
			"aud of another service":        claim("aud", "another server"),
			"no iss":                        claim("iss", nil),
			"iss of another server":         claim("iss", "urn:uuid:"+d.id),
			"no jti":                        claim("jti", nil),
			"no sub":                        claim("sub", nil),
			"nobody":                        claim("sub", d.id),
			"no device":                     claim("dev", nil),
			"no company":                    claim("co", nil),
			"person of another company":     claim("sub", other.answer.Person),
			"device of another company":     claim("dev", other.id),
			"another company":               claim("co", other.answer.Company),
			"altered last character":        alterLast(good),
			"altered claims":                part[0] + "." + base64.RawURLEncoding.EncodeToString([]byte(`{"sub":"x"}`)) + "." + part[2],
			"no signature":                  part[0] + "." + part[1] + ".",
			"truncated":                     good[:len(good)-10],
			"two parts":                     part[0] + "." + part[1],
			"four parts":                    good + ".x",
			"a refresh token":               d.answer.RefreshToken,
			"padding":                       good + "=",
			"dots":                          strings.Repeat(".", 2000),
			"very long":                     strings.Repeat("A", 12<<10),
			"nothing":                       "",
		}
		for name, token := range tokens {
			r := w.call(request{method: "GET", path: "/v1/people", token: token})
			r.problem(t, name, 401)
			if r.header.Get("WWW-Authenticate") == "" {
				t.Errorf("%s: no WWW-Authenticate", name)
			}
		}
		if len(tokens) < 40 {
			t.Errorf("%d forged tokens", len(tokens))
		}
		t.Logf("evidence: %d forged tokens, all answered 401", len(tokens))
		r := w.call(request{method: "GET", path: "/v1/people", header: map[string]string{"Authorization": "Basic " + good}})
		r.problem(t, "another scheme", 401)
		if strings.Contains(w.log.String(), part[2]) || strings.Contains(w.log.String(), d.answer.RefreshToken) {
			t.Error("a token stands in the log")
		}
	})
}

// alterLast changes the bits of the last character that no byte of the signature holds.
func alterLast(token string) string {
	const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
	last := strings.IndexByte(alphabet, token[len(token)-1])
	return token[:len(token)-1] + string(alphabet[last^1])
}

func TestTokenOfAnotherServer(t *testing.T) {
	one := newWorld(t, tempFolder(t))
	two := newWorld(t, tempFolder(t))
	d := one.enrol(one.co, "m.reed", jobs.Site)
	two.call(request{method: "GET", path: "/v1/people", token: d.answer.AccessToken}).problem(t, "token of another server", 401)
}
