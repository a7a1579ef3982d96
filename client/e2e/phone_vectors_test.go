package e2e_test

import (
	"encoding/json"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/api"
	"tacet/server/phone"
	"tacet/sync/wire"
)

// What Go and the browser must both make to the byte: texts, hashes, seals, clocks, codes.
func TestPhoneVectors(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "vectors", "record.json"))
	if err != nil {
		t.Fatal(err)
	}
	var vectors []struct {
		What    string
		In, Out any
	}
	if err := json.Unmarshal(data, &vectors); err != nil {
		t.Fatal(err)
	}
	b := open(t)
	p := phone.New()
	b.visit("http://" + bareHost(t, p) + "/phone")
	var got []any
	if err := json.Unmarshal([]byte(eval[string](b, fmt.Sprintf(vectorScript, "/phone/"+p.Version(), data), chromedp.EvalAwaitPromise)), &got); err != nil {
		t.Fatal(err)
	}
	if len(got) != len(vectors) {
		t.Fatalf("%d answers to %d vectors", len(got), len(vectors))
	}
	for i, v := range vectors {
		if !reflect.DeepEqual(got[i], v.Out) {
			t.Errorf("%s of %.200v: the browser makes %.400v, Go %.400v", v.What, v.In, got[i], v.Out)
		}
	}
	// A batch is read by the server's own reader, whichever way its writer escapes.
	batch := eval[string](b, fmt.Sprintf(`import('/phone/%s/wire.js').then(w => w.writeBatch({entries: [{e: '{"a":"\u2028<\u0001é😀"}', b: '{}'}], seals: []}))`, p.Version()), chromedp.EvalAwaitPromise)
	read, err := wire.ReadBatch(strings.NewReader(batch))
	if err != nil || len(read.Entries) != 1 || string(read.Entries[0].Env) != "{\"a\":\"\u2028<\x01é😀\"}" {
		t.Errorf("a batch arrives as %q, %v", read.Entries, err)
	}
}

// What people said is sealed in the browser so that Go opens it with the key that travels beside it, and with no other.
func TestPhoneSealsWords(t *testing.T) {
	b := open(t)
	p := phone.New()
	b.visit("http://" + bareHost(t, p) + "/phone")
	type made struct {
		K []byte
		B string
	}
	text := eval[string](b, fmt.Sprintf(`import('/phone/%s/entry.js').then(async m => { const { k, sealed } = await m.sealWords({ text: 'She hears every step \u{1f463}' }); return JSON.stringify({ k, b: m.bodyText({ sealed }) }) })`, p.Version()), chromedp.EvalAwaitPromise)
	var m made
	if err := json.Unmarshal([]byte(text), &m); err != nil {
		t.Fatal(err)
	}
	const id = "01900000-0000-7000-8000-00000000c001"
	e, err := jobs.NewEntry(jobs.Envelope{ID: id, Co: id, Job: id, Dev: id, By: id, Seq: 1, Run: 1, Role: jobs.Site, Kind: "note", KV: jobs.KindVersion("note")}, []byte(m.B))
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(m.B, "step") || !e.Sealed() || !e.OpenedBy(m.K) {
		t.Errorf("%s does not open", m.B)
	}
	m.K[0]++
	if e.OpenedBy(m.K) {
		t.Error("another key opens it")
	}
}

// bareHost serves the phone's files and nothing else.
func bareHost(t *testing.T, p *phone.Phone) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	app := fiber.New(fiber.Config{DisableStartupMessage: true, Immutable: true})
	app.Use(api.SecureHeaders)
	p.Register(app)
	ended := make(chan error, 1)
	go func() { ended <- app.Listener(ln) }()
	t.Cleanup(func() {
		if err := app.Shutdown(); err != nil {
			t.Error(err)
		}
		<-ended
	})
	return ln.Addr().String()
}

const vectorScript = `(async () => {
	const at = %q, load = (name) => import(at + '/' + name)
	const [bytes, canonical, entry, clock, code, wire] = await Promise.all(['bytes.js', 'canonical.js', 'entry.js', 'clock.js', 'code.js', 'wire.js'].map(load))
	const refused = async (f) => { try { await f(); return false } catch { return true } }
	const key = (text) => entry.publicKey(bytes.fromBase64(text))
	// PKCS #8 of an Ed25519 seed: a fixed head and the 32 bytes
	const secret = (seed) => crypto.subtle.importKey('pkcs8', bytes.concat(Uint8Array.from([0x30,0x2e,2,1,0,0x30,5,6,3,0x2b,0x65,0x70,4,0x22,4,0x20]), bytes.fromBase64(seed)), entry.algorithm, false, ['sign'])
	const make = {
		canonical: (v) => canonical.canonical(v),
		refused: (v) => refused(() => canonical.canonical(v)),
		entry: async ({env, body}) => { const { salt, ...rest } = body; const { h, e, b } = await entry.newEntry(env, entry.bodyText(rest, bytes.fromURL64(salt))); return { h, e, b } },
		seal: async (v) => bytes.toBase64(await entry.sign(await secret(v.key), entry.sealText(v.seal))),
		receipt: async (v) => entry.verify(await key(v.key), v.receipt.sig, entry.receiptText(v.receipt)),
		head: (v) => entry.nextHead(v.head, v.n, v.act, v.h),
		cursor: async (v) => entry.verify(await key(v.key), v.cursor.sig, entry.cursorText(v.co, v.cursor)),
		'cursor text': (v) => wire.cursorQuery(v),
		sum: (v) => v.reduce((sum, h) => entry.plus(sum, h), ''),
		proof: (v) => entry.proofText(v.for, v.dev, v.of, v.at),
		'key id': (v) => wire.keyID(bytes.fromBase64(v)),
		digest: (v) => wire.digest(bytes.utf8(v)),
		clock: (v) => clock.next(v.own, v.ms),
		code: (v) => { try { return code.readCode(v) } catch { return '' } },
	}
	const out = []
	for (const v of %s) out.push(await make[v.what](v.in))
	return JSON.stringify(out)
})()`
