package app_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strings"
	"testing"

	"tacet/jobs"
)

// What people write stands in a PDF as text: it opens nothing, runs nothing, and breaks out of no string.
func TestPDFHoldsNoAction(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Owner)
	job, _, _ := jobToTry(t, d)
	author := d.author()
	for _, evil := range []string{`) /OpenAction << /S /JavaScript /JS (app.alert\(1\)) >> (`, `\) Tj ET /JS (`, `<</S/URI/URI(https://evil.example.net)>>`, `javascript:alert(1)`, "\\", "((((", "))))"} {
		edge := edges(`{"do":"note","surface":"C1","text":` + quoted(evil) + `,"by":` + quoted(evil) + `}`)
		if _, err := w.Replica.Record(t.Context(), w.co.ID, author, job, edge); err != nil {
			t.Fatal(err)
		}
		deliver := edges(`{"do":"install","surface":"C1","layer":1,"share":1,"material":` + quoted(evil) + `,"note":` + quoted(evil) + `}`)
		if _, err := w.Replica.Record(t.Context(), w.co.ID, author, job, deliver); err != nil && !strings.Contains(err.Error(), "share") {
			t.Fatal(err)
		}
	}
	b := w.signIn("m.reed")
	for _, path := range []string{"/s/C1/sheet.pdf", "/sheets.pdf"} {
		r := b.get("/jobs/" + job + path)
		if r.status != 200 || !bytes.HasPrefix(r.body, []byte("%PDF-")) {
			t.Fatalf("%s: %d", path, r.status)
		}
		// Outside the streams stand the objects; a text that broke out would stand there as one of these.
		objects := regexp.MustCompile(`(?s)stream\r?\n.*?endstream`).ReplaceAll(r.body, nil)
		for _, key := range []string{"/OpenAction", "/JavaScript", "/JS", "/Launch", "/URI", "/SubmitForm", "/AA"} {
			if bytes.Contains(objects, []byte(key)) {
				t.Errorf("%s holds %s", path, key)
			}
		}
		for _, m := range regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`).FindAllSubmatch(r.body, -1) {
			z, err := zlib.NewReader(bytes.NewReader(m[1]))
			if err != nil {
				continue // a picture or a font that is packed otherwise
			}
			text, err := io.ReadAll(z)
			if err == nil && bytes.Contains(text, []byte("BT")) && !balanced(text) {
				t.Errorf("%s: a text breaks out of its string", path)
			}
		}
	}
}

func quoted(s string) string { return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"` }

// balanced tells whether the strings of a content stream end where they should: the brackets outside escapes come out even.
func balanced(stream []byte) bool {
	depth := 0
	for i := 0; i < len(stream); i++ {
		switch stream[i] {
		case '\\':
			i++
		case '(':
			depth++
		case ')':
			if depth--; depth < 0 {
				return false
			}
		}
	}
	return depth == 0
}
