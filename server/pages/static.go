package pages

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"io/fs"
	"mime"
	"path"
	"regexp"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

//go:embed static
var staticFiles embed.FS

type staticFile struct {
	sum  string
	data []byte
}

// statics are the style sheet, the scripts and the icon by name. Each is served under a part of its checksum, so that a
// browser may keep it for good and never uses an old one.
var statics = readStatics(staticFiles)

func readStatics(files fs.FS) map[string]staticFile {
	out := map[string]staticFile{}
	entries, err := fs.ReadDir(files, "static")
	if err != nil {
		panic(err)
	}
	for _, e := range entries {
		data, err := fs.ReadFile(files, "static/"+e.Name())
		if err != nil {
			panic(err)
		}
		if path.Ext(e.Name()) == ".css" {
			data = forReaders.ReplaceAll(data, nil)
		}
		sum := sha256.Sum256(data)
		out[e.Name()] = staticFile{sum: base64.RawURLEncoding.EncodeToString(sum[:9]), data: data}
	}
	return out
}

// forReaders is what stands in a style sheet for those who read it: no browser needs it, and a phone pays for it.
var forReaders = regexp.MustCompile(`(?s)\s*/\*.*?\*/|(?m)^[ \t]+`)

// staticURL is the address of a static file.
func staticURL(name string) string { return "/static/" + statics[name].sum + "/" + name }

func (p *Pages) static(c *fiber.Ctx) error {
	f, ok := statics[c.Params("name")]
	if !ok || f.sum != c.Params("sum") {
		return p.Fail(c, jobs.ErrNotFound)
	}
	c.Set("X-Content-Type-Options", "nosniff")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
	c.Set("Cache-Control", "public, max-age=31536000, immutable")
	c.Set(fiber.HeaderContentType, mime.TypeByExtension(path.Ext(c.Params("name"))))
	return c.Send(f.data)
}

// Static is a file that the pages are made of, for who serves it besides.
func Static(name string) []byte { return statics[name].data }

// Marks are the marks that stand beside states, to be drawn from by name.
func Marks() template.HTML { return markSymbols }
