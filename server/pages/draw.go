package pages

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"io"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/drawing"
	"tacet/server/paper"
)

var (
	_ = register(Page{Path: "/jobs/:job/s/:surface/section-:width.svg", Roles: everybody, Get: getSection})
	_ = register(Page{Path: "/jobs/:job/s/:surface/mini.svg", Roles: everybody, Get: getMini})
	_ = register(Page{Path: "/jobs/:job/s/:surface/legend.svg", Roles: everybody, Get: getLegend})
	_ = register(Page{Path: "/jobs/:job/s/:surface/sheet.pdf", Roles: everybody, Get: getSheet})
	_ = register(Page{Path: "/jobs/:job/sheets.pdf", Roles: everybody, Get: getSheets})
	_ = register(Page{Path: "/jobs/:job/photos/:sha", Roles: everybody, Get: getPhoto})
)

// The drawing is a picture of its own, so that a browser loads the one width it shows and the page stays light.
func getSection(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	return v.drawn(true, func() picturer { return Section(j, s) })
}

// picturer is what can be drawn at a width.
type picturer interface{ SVG(width int) []byte }

// drawn answers with a picture, where there is one, at the width that the path asks for.
func (v *visit) drawn(ok bool, draw func() picturer) error {
	width, err := strconv.Atoi(v.param("width"))
	if !ok || err != nil || width < 240 || width > 2000 {
		return jobs.ErrNotFound
	}
	return v.svg(draw().SVG(width))
}

func getMini(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	return v.svg(Section(j, s).Mini())
}

func getLegend(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	return v.svg(drawing.Legend(328, Section(j, s)))
}

// svg answers with a picture, or with nothing where the browser has it already.
func (v *visit) svg(b []byte) error {
	sum := sha256.Sum256(b)
	tag := `"` + base64.RawURLEncoding.EncodeToString(sum[:12]) + `"`
	v.c.Set(fiber.HeaderETag, tag)
	v.c.Set(fiber.HeaderVary, fiber.HeaderAcceptEncoding)
	v.picture("image/svg+xml")
	if v.c.Get(fiber.HeaderIfNoneMatch) == tag {
		return v.c.SendStatus(fiber.StatusNotModified)
	}
	if strings.Contains(v.c.Get(fiber.HeaderAcceptEncoding), "gzip") {
		var z bytes.Buffer
		w := gzip.NewWriter(&z)
		if _, err := w.Write(b); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
		v.c.Set(fiber.HeaderContentEncoding, "gzip")
		b = z.Bytes()
	}
	return v.c.Send(b)
}

// picture sets the headers of what is only ever shown: it loads and runs nothing, wherever it is opened.
func (v *visit) picture(contentType string) {
	v.c.Set(fiber.HeaderContentType, contentType)
	v.c.Set("Content-Security-Policy", "default-src 'none'; sandbox")
}

func getSheet(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	return v.sheets(j, j.Name+" "+s.Code, s.Code)
}

func getSheets(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	return v.sheets(j, j.Name)
}

func (v *visit) sheets(j *jobs.Job, name string, codes ...string) error {
	sheets, err := Sheets(j, codes, v.sheetOptions())
	if err != nil {
		return err
	}
	return v.pdf(name, func(w io.Writer) error { return paper.Write(w, sheets) })
}

// fileName keeps letters and digits and joins the rest with dashes.
func fileName(s string) string {
	words := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') })
	return strings.Join(words, "-")
}

// getPhoto shows a photo that a record of the job names; from another job its address opens nothing.
func getPhoto(v *visit) error {
	h, err := jobs.ParseHash(v.param("sha"))
	if err != nil || h.IsZero() {
		return jobs.ErrNotFound
	}
	data, err := v.deps.Record.Photo(v.ctx, v.who.Company, v.param("job"), h)
	if err != nil {
		return err
	}
	v.picture("image/jpeg")
	// It may be erased at any time, so a browser asks before it shows again what it kept.
	v.c.Set(fiber.HeaderCacheControl, "private, no-cache")
	v.c.Set(fiber.HeaderETag, `"`+h.String()+`"`)
	if v.c.Get(fiber.HeaderIfNoneMatch) == `"`+h.String()+`"` {
		return v.c.SendStatus(fiber.StatusNotModified)
	}
	return v.c.Send(data)
}
