package privacy

import (
	"archive/zip"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"strconv"
	"strings"
	"time"

	"tacet/jobs"
)

// exported is what the JSON of an export says, in words that need no knowledge of the program.
type exported struct {
	Made    time.Time `json:"made"`
	Firm    string    `json:"firm"`
	About   string    `json:"about"` // what was searched for
	Account *account  `json:"account,omitempty"`
	Devices []device  `json:"devices"`
	Guests  []guest   `json:"guest_links"`
	Looks   []look    `json:"looks"`
	Records []Line    `json:"records"`
}

type account struct {
	ID    string `json:"id"`
	Login string `json:"login"`
	Name  string `json:"name"`
	Role  string `json:"role"`
	Ended bool   `json:"access_ended"`
}

type device struct {
	ID    string    `json:"id"`
	Name  string    `json:"name"`
	State string    `json:"state"`
	Since time.Time `json:"since"`
}

type guest struct {
	Name  string    `json:"name"`
	Job   string    `json:"job"`
	Until time.Time `json:"until"`
}

type look struct {
	What  string    `json:"what"`
	By    string    `json:"by"`
	About string    `json:"about"`
	Times int64     `json:"times"`
	Last  time.Time `json:"last"`
}

// Write writes all that is held about a person into a zip file: for programs as JSON, for a spreadsheet as CSV, for people as a page that
// opens anywhere, and the photos.
func (d *Desk) Write(ctx context.Context, w io.Writer, co, firm string, f *File) error {
	z := zip.NewWriter(w)
	e := f.exported(firm, d.Now())
	for _, part := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{"person.json", func(w io.Writer) error {
			enc := json.NewEncoder(w)
			enc.SetEscapeHTML(false)
			enc.SetIndent("", " ")
			return enc.Encode(e)
		}},
		{"records.csv", func(w io.Writer) error { return writeCSV(w, e.Records) }},
		{"read-me.html", func(w io.Writer) error { return page.Execute(w, e) }},
	} {
		out, err := z.Create(part.name)
		if err != nil {
			return err
		}
		if err := part.write(out); err != nil {
			return fmt.Errorf("write %s: %w", part.name, err)
		}
	}
	done := map[jobs.Hash]bool{}
	for _, l := range f.Lines {
		for _, h := range l.Photos {
			if done[h] {
				continue
			}
			done[h] = true
			if err := d.addPhoto(ctx, z, co, h); err != nil {
				return err
			}
		}
	}
	return z.Close()
}

func (d *Desk) addPhoto(ctx context.Context, z *zip.Writer, co string, h jobs.Hash) error {
	data, err := d.Blobs.Get(ctx, co, h)
	if errors.Is(err, jobs.ErrNotFound) {
		return nil // named by a record, and still on the device that made it
	}
	if err != nil {
		return err
	}
	out, err := z.CreateHeader(&zip.FileHeader{Name: "photos/" + h.String() + ".jpg", Method: zip.Store})
	if err != nil {
		return err
	}
	_, err = out.Write(data)
	return err
}

func (f *File) exported(firm string, now time.Time) exported {
	e := exported{Made: now.UTC().Truncate(time.Second), Firm: firm, About: f.Subject.Words, Devices: []device{}, Guests: []guest{}, Looks: []look{}, Records: f.Lines}
	if e.Records == nil {
		e.Records = []Line{}
	}
	if u := f.Account; u != nil {
		e.Account = &account{u.Person, u.Login, u.Name, string(u.Role), u.Ended}
		if e.About == "" {
			e.About = u.Name
		}
	}
	for _, d := range f.Devices {
		e.Devices = append(e.Devices, device{d.ID, d.Name, d.State, d.Made.UTC()})
	}
	for _, g := range f.Guests {
		e.Guests = append(e.Guests, guest{g.Name, g.Job, g.Until.UTC()})
	}
	for _, l := range f.Looks {
		e.Looks = append(e.Looks, look{l.What, l.Person, l.About, l.Times, l.Last.UTC()})
	}
	return e
}

func writeCSV(w io.Writer, lines []Line) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	rows := [][]string{{"job", "record", "kind", "time (UTC)", "made by the person", "names the person", "can be erased", "says"}}
	for _, l := range lines {
		rows = append(rows, []string{jobs.Cell(l.JobName), l.ID, l.Kind, l.At.UTC().Format(time.RFC3339), strconv.FormatBool(l.Made),
			strconv.FormatBool(l.Names), strconv.FormatBool(l.Sealed), jobs.Cell(l.Says)})
	}
	return out.WriteAll(rows)
}

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"day":  func(t time.Time) string { return t.UTC().Format("2 January 2006, 15:04 UTC") },
	"kind": func(s string) string { return strings.ReplaceAll(s, "_", " ") },
}).Parse(`<!doctype html>
<html lang="en-GB"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>What {{.Firm}} holds about {{.About}}</title></head>
<body>
<h1>What {{.Firm}} holds about {{.About}}</h1>
<p>Written on {{day .Made}}. The same is in person.json for programs and in records.csv for a spreadsheet; photos lie in the folder photos.</p>
{{with .Account}}<h2>Account</h2><p>{{.Name}}, login {{.Login}}, {{.Role}}{{if .Ended}}; access has ended{{end}}. Id {{.ID}}.</p>{{end}}
{{if .Devices}}<h2>Devices</h2><ul>{{range .Devices}}<li>{{.Name}}, {{.State}}, since {{day .Since}}. Id {{.ID}}.</li>{{end}}</ul>{{end}}
{{if .Guests}}<h2>Links for guests</h2><ul>{{range .Guests}}<li>{{.Name}}, good until {{day .Until}}.</li>{{end}}</ul>{{end}}
<h2>Records</h2>{{if not .Records}}<p>None.</p>{{end}}
<ul>{{range .Records}}<li><p>{{.JobName}}, {{day .At}}: {{kind .Kind}}. {{if .Made}}You recorded it. {{end}}{{if .Names}}It names you. {{end}}</p><p>{{.Says}}</p></li>{{end}}</ul>
{{if .Looks}}<h2>Who looked</h2><ul>{{range .Looks}}<li>{{day .Last}}: {{.What}}, {{.Times}} times, by {{.By}}.</li>{{end}}</ul>{{end}}
</body></html>
`))
