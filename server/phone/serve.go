package phone

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"io/fs"
	"mime"
	"path"
	"slices"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/server/pages"
)

//go:embed app
var files embed.FS

//go:embed shell.html
var shellText string

// policy is that of all pages and lets the browser read the manifest besides.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; manifest-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'; object-src 'none'"

// Phone serves what a phone's browser keeps of the program. Nothing of it is anybody's own: it is the same for everybody.
type Phone struct {
	version string
	names   []string // of the files, sorted
	files   map[string][]byte
	shell   []byte
	worker  []byte
	naming  []byte // the manifest
}

// New reads the scripts and puts them under one version: the browser has either all of an old one or all of a new one.
func New() *Phone {
	p := &Phone{files: map[string][]byte{"tacet.css": pages.Static("tacet.css"), "icon.svg": pages.Static("tacet.svg")}}
	entries, err := fs.ReadDir(files, "app")
	if err != nil {
		panic(err) // they are part of the program
	}
	for _, e := range entries {
		data, err := fs.ReadFile(files, "app/"+e.Name())
		if err != nil {
			panic(err)
		}
		p.files[e.Name()] = data
	}
	for _, side := range []int{192, 512} {
		p.files[fmt.Sprintf("icon-%d.png", side)] = icon(side)
	}
	p.worker = p.files["sw.js"]
	delete(p.files, "sw.js")
	sum := sha256.New()
	for name := range p.files {
		p.names = append(p.names, name)
	}
	slices.Sort(p.names)
	for _, name := range append(slices.Clone(p.names), "") {
		data := p.files[name]
		if name == "" {
			data = append([]byte(shellText), p.worker...)
		}
		fmt.Fprintf(sum, "%s %d\n", name, len(data))
		sum.Write(data)
	}
	p.version = base64.RawURLEncoding.EncodeToString(sum.Sum(nil)[:9])
	p.write()
	return p
}

// write makes what names the version.
func (p *Phone) write() {
	at := "/phone/" + p.version + "/"
	var b bytes.Buffer
	view := struct {
		At    string
		Marks template.HTML
	}{at, pages.Marks()}
	if err := template.Must(template.New("").Parse(shellText)).Execute(&b, view); err != nil {
		panic(err)
	}
	p.shell = b.Bytes()
	list, err := json.Marshal(p.names)
	if err != nil {
		panic(err)
	}
	p.worker = []byte(strings.NewReplacer("VERSION", p.version, "['FILES']", string(list)).Replace(string(p.worker)))
	png := func(side int) map[string]string {
		size := fmt.Sprintf("%dx%d", side, side)
		return map[string]string{"src": fmt.Sprintf("%sicon-%d.png", at, side), "sizes": size, "type": "image/png", "purpose": "any maskable"}
	}
	p.naming, err = json.Marshal(map[string]any{"name": "Tacet", "short_name": "Tacet", "lang": "en-GB", "id": "/phone", "start_url": "/phone", "scope": "/phone",
		"display": "standalone", "background_color": "#fbfaf7", "theme_color": "#fbfaf7", "icons": []any{png(192), png(512)}})
	if err != nil {
		panic(err)
	}
}

// Version names what is served now.
func (p *Phone) Version() string { return p.version }

// Paths are the routes, open to everybody: no data is behind them.
func Paths() []string {
	return []string{"/phone", "/phone/sw.js", "/phone/manifest.webmanifest", "/phone/:version/:name"}
}

// Register adds the routes.
func (p *Phone) Register(r fiber.Router) {
	send := func(media string, data []byte) fiber.Handler {
		return func(c *fiber.Ctx) error {
			c.Set(fiber.HeaderContentSecurityPolicy, policy)
			c.Set(fiber.HeaderCacheControl, "no-cache")
			c.Set("Service-Worker-Allowed", "/") // it opens codes of sheets, which lie outside /phone, and touches nothing else there
			c.Set(fiber.HeaderContentType, media)
			return c.Send(data)
		}
	}
	r.Get("/phone", send(fiber.MIMETextHTMLCharsetUTF8, p.shell))
	r.Get("/phone/sw.js", send("text/javascript; charset=utf-8", p.worker))
	r.Get("/phone/manifest.webmanifest", send("application/manifest+json", p.naming))
	r.Get("/phone/:version/:name", func(c *fiber.Ctx) error {
		data, ok := p.files[c.Params("name")]
		if !ok || c.Params("version") != p.version {
			return fiber.ErrNotFound
		}
		c.Set(fiber.HeaderContentSecurityPolicy, policy)
		c.Set(fiber.HeaderCacheControl, "public, max-age=31536000, immutable")
		c.Set(fiber.HeaderContentType, mime.TypeByExtension(path.Ext(c.Params("name"))))
		return c.Send(data)
	})
}
