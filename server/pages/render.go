package pages

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/server/drawing"
)

//go:embed html/*.html
var htmlFiles embed.FS

// templates are the pages by name, each with the frame and the parts (html/_*.html) around it. A template that does not
// parse is found by every test and every start.
var templates = parseTemplates(htmlFiles)

func parseTemplates(files fs.FS) map[string]*template.Template {
	parts := template.Must(template.New("").Funcs(functions).ParseFS(files, "html/_*.html"))
	names, err := fs.Glob(files, "html/[a-z]*.html")
	if err != nil {
		panic(err)
	}
	out := map[string]*template.Template{}
	for _, n := range names {
		t := template.Must(template.Must(parts.Clone()).ParseFS(files, n))
		out[strings.TrimSuffix(strings.TrimPrefix(n, "html/"), ".html")] = t
	}
	return out
}

// functions are what templates may do besides printing: all of them write numbers, times or addresses.
var functions = template.FuncMap{
	"static":  staticURL,
	"formkey": newFormKey,
	"marks":   func() template.HTML { return markSymbols },
	"mark":    func(name string) template.HTML { return mark(drawing.Mark(name)) },
}

// render writes the page name for its view.
func render(name string, view any) ([]byte, error) {
	t, ok := templates[name]
	if !ok {
		return nil, fmt.Errorf("no template %s", name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "frame", view); err != nil {
		return nil, fmt.Errorf("page %s: %w", name, err)
	}
	return bind(b.Bytes()), nil
}

// bind ends the lines of a page by the rule of the drawings: what stands between tags is bound, but not what people type, which comes back as
// it stands.
func bind(page []byte) []byte {
	out := make([]byte, 0, len(page)+len(page)/64)
	for typed := false; len(page) > 0; {
		text, rest, _ := bytes.Cut(page, []byte("<"))
		if typed {
			out = append(out, text...)
		} else {
			out = append(out, drawing.Bind(string(text))...)
		}
		end := bytes.IndexByte(rest, '>') + 1
		out = append(append(out, page[len(text):len(page)-len(rest)]...), rest[:end]...)
		typed = bytes.HasPrefix(rest, []byte("textarea"))
		page = rest[end:]
	}
	return out
}

// show answers with a page.
func (v *visit) show(name string, view any) error {
	b, err := render(name, view)
	if err != nil {
		return err
	}
	v.c.Set(fiber.HeaderContentType, fiber.MIMETextHTMLCharsetUTF8)
	return v.c.Send(b)
}
