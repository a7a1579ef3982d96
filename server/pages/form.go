package pages

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/photo"
)

// form is a form as its page shows it. Fields are named as the JSON keys of what is recorded, so that a complaint of the
// record finds its field.
type form struct {
	Name   string // tells its fields from those of another form on the page
	Fields []field
	Folds  []fold  // what most people leave out, closed until asked
	More   []field // of whoever records for somebody else; closed too
	Errors []complaint
	Submit string
	Busy   string // said while it is at work
	Hidden []hidden
	Upload bool // it can carry photos
	Kept   []string
	Taken  []string // when each of Kept was taken, as its camera says
}

// fold is a part of a form that is closed until somebody asks for it, or has answered in it.
type fold struct {
	Says   string // what is in it, so that nobody has to open it to know
	Fields []field
}

type hidden struct{ Name, Value string }

// complaint is one line of the error summary; Field is the id of what it is about.
type complaint struct{ Field, Says string }

// field is one question.
type field struct {
	Form    string // the form's name
	Kind    string // text, decimal, area, choice, box, files, camera, moment, password
	Name    string
	Label   string
	Hint    string
	Unit    string
	Value   string
	Error   string
	Options []option
	Suggest []option // what a text may be, of which one can be chosen; another may be typed
	Auto    string   // what a password manager may fill in
	Refused string   // what to say when the record refuses the value; empty: what the record itself says
	Needed  string   // what to say when a text is left out; empty where it may be
	Rows    string   // a list written as lines: "texts", "numbers", or the keys of the numbers on a line
	Pasted  bool     // an area for a table from a spreadsheet
	Aside   bool     // it serves the page and is no part of what is recorded
	Takes   []string // keys of the record that are read from it and have other names, so that a complaint about them finds it
	Pen     bool     // a picture that may be drawn on the page, where the form's means is the finger
}

// option is one answer of a choice.
type option struct {
	Value, Label, Hint string
	Checked            bool
}

// Lines is how high an area is: as high as the shortest table that is pasted into it, or three lines of words.
func (f field) Lines() int {
	if f.Pasted {
		return 16
	}
	return 3
}

// ID is the field's id on the page.
func (f field) ID() string {
	return "f" + f.Form + "-" + strings.NewReplacer(".", "-", "[", "-", "]", "").Replace(f.Name)
}

// First is the id of what a complaint's link goes to: of a choice, its first answer.
func (f field) First() string {
	if f.Kind == "choice" && len(f.Options) > 0 {
		return f.ID() + "-0"
	}
	return f.ID()
}

// ID is the form's id on the page.
func (f form) ID() string { return "form" + f.Name }

// All are the fields of the form, open and closed.
func (f *form) all() []*field {
	var fs []*field
	for i := range f.Fields {
		fs = append(fs, &f.Fields[i])
	}
	for i := range f.Folds {
		for k := range f.Folds[i].Fields {
			fs = append(fs, &f.Folds[i].Fields[k])
		}
	}
	for i := range f.More {
		fs = append(fs, &f.More[i])
	}
	return fs
}

// Closed are the parts that open when asked.
func (f form) Closed() []fold {
	if len(f.More) == 0 {
		return f.Folds
	}
	return append(slices.Clip(f.Folds), fold{"Done by somebody else, at another time, or from paper", f.More})
}

func (f *form) field(name string) *field {
	for _, x := range f.all() {
		if x.Name == name {
			return x
		}
	}
	for _, x := range f.all() {
		if slices.Contains(x.Takes, name) {
			return x
		}
	}
	return nil
}

// Open tells whether the part has something to show: an answer or a complaint. An option without a value is what holds where nobody answers.
func (p fold) Open() bool {
	return slices.ContainsFunc(p.Fields, func(x field) bool {
		return x.Error != "" || x.Value != "" || slices.ContainsFunc(x.Options, func(o option) bool { return o.Checked && o.Value != "" })
	})
}

// complain puts a sentence beside the field and into the summary. A field that the form does not have is named there alone.
func (f *form) complain(name, says string) {
	if x := f.field(name); x != nil {
		x.Error = says
		f.Errors = append(f.Errors, complaint{x.First(), says})
		return
	}
	f.Errors = append(f.Errors, complaint{f.ID(), says})
}

// take puts what the record refused beside its fields and tells whether that is all that went wrong; anything but bad
// input and broken rules is not for the person who filled in the form.
func (f *form) take(err error) bool {
	var in *jobs.InputError
	var rule *jobs.RuleError
	switch {
	case errors.As(err, &in):
		name := in.Field
		if i := strings.LastIndex(name, "]."); i >= 0 && strings.HasPrefix(name, "[") && f.field(name) == nil {
			name = name[i+2:]
		}
		label := jobs.Capital(spaced(name))
		if x := f.field(name); x != nil {
			label = x.Label
		}
		says := inputSentence(label, in)
		if x := f.field(name); x != nil && x.Refused != "" && in.Value != "missing" {
			says = x.Refused
		}
		f.complain(name, says)
	case errors.As(err, &rule):
		f.complain("", sentence(rule.Says))
	default:
		return false
	}
	return true
}

// inputSentence says what to do about bad input.
func inputSentence(label string, in *jobs.InputError) string {
	if in.Value == "missing" && in.Hint == "" {
		return "Fill in: " + jobs.Lower(label) + "."
	}
	if in.Value == "missing" {
		return sentence(in.Hint)
	}
	var s string
	switch {
	case strings.HasPrefix(in.Range, "one of"):
		s = label + ": choose one of the answers."
	case in.Range != "":
		s = label + " must be " + strings.TrimSpace(in.Range+" "+in.Unit) + "."
	}
	if in.Hint != "" {
		s += " " + sentence(in.Hint)
	}
	if s == "" {
		s = label + ": " + sentence(in.Value)
	}
	return strings.TrimSpace(s)
}

// fill puts back what was typed, so that nothing is lost when something has to be corrected.
func (f *form) fill(c *fiber.Ctx) {
	for _, x := range f.all() {
		switch x.Kind {
		case "files", "password":
		case "head":
		case "choice", "select":
			for i := range x.Options {
				x.Options[i].Checked = x.Options[i].Value == c.FormValue(x.Name)
			}
		case "box":
			given := formValues(c, x.Name)
			for i := range x.Options {
				x.Options[i].Checked = slices.Contains(given, x.Options[i].Value)
			}
		default:
			x.Value = c.FormValue(x.Name)
		}
	}
}

// formValues are all values of a name: of boxes that are ticked, of hidden fields.
func formValues(c *fiber.Ctx, name string) []string {
	if m, err := c.MultipartForm(); err == nil {
		return m.Value[name]
	}
	var out []string
	for _, b := range c.Context().PostArgs().PeekMulti(name) {
		out = append(out, string(b))
	}
	return out
}

// reader collects an edge object from a form, with what is wrong with it.
type reader struct {
	f    *form
	c    *fiber.Ctx
	zone *time.Location
	edge map[string]any
}

func (v *visit) read(f *form, do string) *reader {
	f.fill(v.c)
	return &reader{f: f, c: v.c, zone: v.deps.Zone, edge: map[string]any{"do": do}}
}

// text takes a text as typed, without blanks at its ends, if there is any.
func (r *reader) text(name string) string {
	s := strings.TrimSpace(r.c.FormValue(name))
	if s != "" {
		r.edge[name] = s
	} else if f := r.f.field(name); f != nil && f.Needed != "" {
		r.f.complain(name, f.Needed)
	}
	return s
}

// plain is a number as people write it.
var plain = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// number reads a number that may be left out; ok is false when there is none or it can't be read, which is then said.
func (r *reader) number(name string) (value json.Number, ok bool) {
	s := strings.TrimSpace(r.c.FormValue(name))
	if s == "" {
		return "", false
	}
	label := name
	if x := r.f.field(name); x != nil {
		label = x.Label
	}
	if strings.Count(s, ",") == 1 && plain.MatchString(strings.Replace(s, ",", ".", 1)) {
		r.f.complain(name, fmt.Sprintf("%s: write %s with a point if that is meant.", label, strings.Replace(s, ",", ".", 1)))
		return "", false
	}
	if !plain.MatchString(s) || len(s) > 20 {
		r.f.complain(name, label+": write a number only, such as 12.6.")
		return "", false
	}
	if !json.Valid([]byte(s)) { // 012
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			r.f.complain(name, label+": write a number only, such as 12.6.")
			return "", false
		}
		s = strconv.FormatFloat(v, 'f', -1, 64)
	}
	return json.Number(s), true
}

// numberInto reads a number into the edge under its own name.
func (r *reader) numberInto(name string) {
	if v, ok := r.number(name); ok {
		r.edge[name] = v
	}
}

// moment reads a date with a time of day, as a browser or a person writes it, in the zone of the pages.
func (r *reader) moment(name string) {
	s := strings.TrimSpace(r.c.FormValue(name))
	if s == "" {
		return
	}
	t, ok := time.Time{}, false
	if at := strings.IndexAny(s, "T "); at > 0 {
		t, ok = timeOn(s[:at], s[at+1:], r.zone)
	}
	if !ok { // with seconds only a browser writes it
		var err error
		t, err = time.ParseInLocation("2006-01-02T15:04:05", s, r.zone)
		ok = err == nil
	}
	if ok {
		r.edge[name] = t.Format(time.RFC3339)
		return
	}
	r.f.complain(name, "Write date and time as 2026-11-25 14:05.")
}

// dateField asks for a day, momentField for a day and a time: by every form in the same way.
func dateField(name, label, hint string) field {
	return field{Kind: "date", Name: name, Label: label, Hint: strings.TrimSpace(hint + " A date.")}
}

func momentField(name, label, hint string) field {
	return field{Kind: "moment", Name: name, Label: label, Hint: strings.TrimSpace(hint + " Date and time.")}
}

// date reads a day, nil where none was given; what is none is said.
func (r *reader) date(name string) any {
	s := strings.TrimSpace(r.c.FormValue(name))
	if s == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		r.f.complain(name, "Write the date as 2026-11-25.")
	}
	return s
}

// commonFields are what every record may carry besides its own answers.
func commonFields() []field {
	return []field{
		{Kind: "text", Name: "by", Label: "Done by", Hint: "Where that is not you."},
		momentField("at", "Done at", "Where that is not now."),
		{Kind: "box", Name: "from_paper", Label: "From paper", Options: []option{{Value: "true", Label: "Typed in from a paper sheet"}}},
	}
}

// common reads what commonFields asks.
func (r *reader) common() {
	r.text("by")
	r.moment("at")
	if r.c.FormValue("from_paper") == "true" {
		r.edge["from_paper"] = true
	}
}

// photoField asks for pictures.
func photoField(hint string) field {
	return field{Kind: "files", Name: "photos", Label: "Photos", Hint: hint}
}

// photos re-encodes and keeps the pictures of a form, before anything names them. Their hashes stay in the form, so that a
// picture is not asked for twice when something else has to be corrected.
func (v *visit) photos(r *reader) error {
	taken := formValues(v.c, "taken")
	for i, h := range formValues(v.c, "kept") {
		if _, err := jobs.ParseHash(h); err == nil && h != "" {
			at := ""
			if i < len(taken) {
				at = taken[i]
			}
			r.f.Kept, r.f.Taken = append(r.f.Kept, h), append(r.f.Taken, at)
		}
	}
	m, err := v.c.MultipartForm()
	if err == nil {
		for _, head := range m.File["photos"] {
			if head.Size == 0 {
				continue
			}
			h, at, err := v.keepPhoto(head)
			var in *jobs.InputError
			if errors.As(err, &in) {
				r.f.complain("photos", inputSentence(head.Filename, in))
				continue
			}
			if err != nil {
				return err
			}
			r.f.Kept, r.f.Taken = append(r.f.Kept, h.String()), append(r.f.Taken, at)
		}
	}
	if len(r.f.Kept) > 0 {
		r.edge["photos"] = r.f.Kept
		if slices.ContainsFunc(r.f.Taken, func(at string) bool { return at != "" }) {
			r.edge["taken"] = r.f.Taken
		}
	}
	return nil
}

// keepPhoto keeps a photo; at is when its camera says that it was taken.
func (v *visit) keepPhoto(head *multipart.FileHeader) (h jobs.Hash, at string, err error) {
	data, err := readUpload(head)
	if err != nil {
		return jobs.Hash{}, "", err
	}
	clean, err := photo.Prepare("photos", data)
	if err != nil {
		return jobs.Hash{}, "", err
	}
	if t := photo.Taken(data, v.deps.Zone); !t.IsZero() {
		at = t.Format(time.RFC3339)
	}
	h, err = v.deps.Blobs.Put(v.ctx, v.who.Company, clean)
	return h, at, err
}

// readUpload reads a picture that was sent, unless it is larger than any that is kept.
func readUpload(head *multipart.FileHeader) ([]byte, error) {
	if head.Size > photo.MaxBytes {
		return nil, &jobs.InputError{Field: "photos", Value: fmt.Sprint(head.Size), Range: "at most 12", Unit: "MiB"}
	}
	file, err := head.Open()
	if err != nil {
		return nil, err
	}
	data := make([]byte, head.Size)
	_, err = io.ReadFull(file, data)
	if err := errors.Join(err, file.Close()); err != nil {
		return nil, err
	}
	return data, nil
}
