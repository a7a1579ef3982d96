package pages

import (
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"

	"tacet/jobs"
	"tacet/sync/replica"
)

// deed is a page on which one thing is recorded, told as data: where it is, what it asks, which kind it records. Its fields
// are named by their paths in the edge object; what they say goes there as it was typed, and the record judges it.
type deed struct {
	path  string
	roles []jobs.Role
	do    string
	ask   func(v *visit, on spot) (recordView, error)
	// base is what the form starts from: what is in force now. Its parts that the form does not show are kept.
	base func(on spot) (any, error)
	// edge puts in what the path says, after the form.
	edge func(on spot, r *reader)
	to   func(on spot) string
}

// spot is what a path names.
type spot struct {
	v     *visit
	j     *jobs.Job
	s     *jobs.Surface // nil where the path names none
	layer *jobs.Layer
}

// path is the page of what the spot names.
func (on spot) path() string {
	switch {
	case on.j.ID == on.j.Company:
		return "/firm"
	case on.s != nil:
		return surfacePath(on.j, on.s)
	}
	return jobPath(on.j)
}

// where leads to it.
func (on spot) where(more ...crumb) []crumb {
	switch {
	case on.j.ID == on.j.Company:
		return append([]crumb{{"The firm", "/firm"}}, more...)
	case on.s != nil:
		return append(whereSurface(on.j, on.s), more...)
	}
	return append(whereJob(on.j), more...)
}

// spot reads what the path names; a path without a job is about the firm.
func (v *visit) spot() (on spot, err error) {
	on = spot{v: v}
	switch {
	case v.param("job") == "":
		on.j, err = v.firmJob()
	case v.param("layer") != "" && v.param("layer") != "0":
		on.j, on.s, on.layer, err = v.layer()
	case v.param("surface") != "":
		on.j, on.s, err = v.surface()
	default:
		on.j, err = v.job()
	}
	return on, err
}

// firmJob is the firm's own job: what holds for all its jobs. It is empty until something is recorded in it.
func (v *visit) firmJob() (*jobs.Job, error) {
	j, err := v.deps.Record.Job(v.ctx, v.who.Company, v.who.Company)
	if errors.Is(err, replica.ErrNoJob) {
		return jobs.NewJob(v.who.Company, v.who.Company), nil
	}
	return j, err
}

// firm is what the firm recorded for all its jobs: materials, prices, targets, figures.
func (v *visit) firm() (jobs.Firm, error) {
	j, err := v.firmJob()
	if err != nil {
		return jobs.Firm{}, err
	}
	return jobs.FirmOf(j), nil
}

// registerDeed adds the page of a deed.
func registerDeed(d deed) string {
	return register(Page{Name: "record", Path: d.path, Roles: d.roles, Get: d.get, Post: d.post, View: recordView{}})
}

func (d deed) view(v *visit) (spot, recordView, map[string]any, error) {
	on, err := v.spot()
	if err != nil {
		return on, recordView{}, nil, err
	}
	base := map[string]any{}
	if d.base != nil {
		from, err := d.base(on)
		if err != nil {
			return on, recordView{}, nil, err
		}
		if from != nil {
			if base, err = treeOf(from); err != nil {
				return on, recordView{}, nil, err
			}
		}
	}
	view, err := d.ask(v, on)
	if err != nil {
		return on, recordView{}, nil, err
	}
	if view.Where == nil {
		view.Where = on.where()
	}
	return on, view, base, nil
}

func (d deed) get(v *visit) error {
	_, view, base, err := d.view(v)
	if err != nil {
		return err
	}
	for _, f := range view.Form.all() {
		f.show(base)
	}
	return v.ask(view)
}

func (d deed) post(v *visit) error {
	on, view, base, err := d.view(v)
	if err != nil {
		return err
	}
	r := v.read(&view.Form, d.do)
	moved := r.edit(base)
	maps.Copy(r.edge, base)
	r.edge["do"] = d.do
	if d.edge != nil {
		d.edge(on, r)
	}
	if view.Form.Upload {
		if err := v.photos(r); err != nil {
			return err
		}
	}
	if view.Form.field("by") != nil {
		r.common()
	}
	to := on.path()
	if d.to != nil {
		to = d.to(on)
	}
	view.Form = *r.f
	if len(view.Form.Errors) > 0 {
		return v.askAgain(view)
	}
	err = v.record(on.j.ID, r.edge)
	if err == nil {
		return v.see(to)
	}
	if !view.Form.take(view.Form.atTyped(err, moved)) {
		return err
	}
	return v.askAgain(view)
}

// askAgain shows a form with what has to be corrected.
func (v *visit) askAgain(view recordView) error {
	v.c.Status(422)
	return v.ask(view)
}

// atTyped leads a complaint of the record to the row in which it was typed, or to the field that holds the row.
func (f *form) atTyped(err error, moved map[string][]int) error {
	var in *jobs.InputError
	if !errors.As(err, &in) {
		return err
	}
	typed := *in
	typed.Field = typedPath(strings.Replace(strings.TrimPrefix(in.Field, "[0]."), "flanking[", "paths[", 1), moved)
	for at := typed.Field; at != ""; at = at[:max(0, strings.LastIndexAny(at, ".["))] {
		if f.field(at) != nil {
			typed.Field = at
			break
		}
	}
	return &typed
}

// commonNames are the fields that every record has and that are read by themselves.
var commonNames = []string{"by", "at", "from_paper", "photos", "taken"}

// edit puts what the fields say into an object, and takes away what was emptied.
func (r *reader) edit(tree map[string]any) map[string][]int {
	for _, f := range r.f.all() {
		if f.Name == "" || f.Aside || slices.Contains(commonNames, f.Name) {
			continue
		}
		treePut(tree, pathSteps(f.Name), r.typed(f))
	}
	moved := map[string][]int{}
	prune(tree, "", moved)
	return moved
}

// typed is what a field says, as the record wants it; nil for nothing.
func (r *reader) typed(f *field) any {
	s := strings.TrimSpace(r.c.FormValue(f.Name))
	if f.Rows != "" {
		return r.rows(f)
	}
	switch f.Kind {
	case "decimal":
		if n, ok := r.number(f.Name); ok {
			return n
		}
		return nil
	case "box":
		given := formValues(r.c, f.Name)
		if len(f.Options) == 1 && f.Options[0].Value == "true" {
			if len(given) > 0 {
				return true
			}
			return nil
		}
		return anyOf(given)
	case "date":
		return r.date(f.Name)
	case "moment":
		before := r.edge[f.Name]
		r.moment(f.Name)
		v := r.edge[f.Name]
		delete(r.edge, f.Name)
		if before != nil {
			r.edge[f.Name] = before
		}
		return v
	}
	if s == "" {
		if f.Needed != "" {
			r.f.complain(f.Name, f.Needed)
		}
		return nil
	}
	return s
}

func anyOf(list []string) any {
	var out []any
	for _, s := range list {
		if s = strings.TrimSpace(s); s != "" {
			out = append(out, s)
		}
	}
	if out == nil {
		return nil
	}
	return out
}

// rows reads a list that is written as lines of text: one text a line, numbers with blanks between, or one pair of numbers a
// line under the two keys that Rows names.
func (r *reader) rows(f *field) any {
	lines := strings.Split(strings.ReplaceAll(r.c.FormValue(f.Name), "\r\n", "\n"), "\n")
	if f.Rows == "texts" {
		return anyOf(lines)
	}
	var out []any
	keys := strings.Fields(f.Rows)
	for _, line := range lines {
		words := strings.FieldsFunc(line, func(c rune) bool {
			return c == ' ' || c == '\t' || c == ';' || c == 'x' || c == '×' || c == '=' || c == '\u202f'
		})
		var ns []json.Number
		for _, w := range words {
			if !plain.MatchString(w) || !json.Valid([]byte(w)) {
				r.f.complain(f.Name, f.Label+": write numbers only, with a point before decimals. This is not one: "+w+".")
				return nil
			}
			ns = append(ns, json.Number(w))
		}
		switch {
		case len(ns) == 0:
		case f.Rows == "numbers":
			for _, n := range ns {
				out = append(out, n)
			}
		case len(ns) != len(keys):
			r.f.complain(f.Name, f.Label+": write two numbers a line.")
			return nil
		default:
			m := map[string]any{}
			for i, k := range keys {
				m[k] = ns[i]
			}
			out = append(out, m)
		}
	}
	if out == nil {
		return nil
	}
	return out
}

// show fills a field with what is in force.
func (f *field) show(tree map[string]any) {
	v := treeAt(tree, f.Name)
	if f.Name == "" || v == nil {
		return
	}
	switch f.Kind {
	case "choice", "select":
		f.choose(textOf(v))
		return
	case "box":
		list, ok := v.([]any)
		for i := range f.Options {
			o := &f.Options[i]
			o.Checked = !ok && textOf(v) == o.Value || slices.ContainsFunc(list, func(x any) bool { return textOf(x) == o.Value })
		}
		return
	case "files":
		return
	}
	if list, ok := v.([]any); ok {
		f.Value = f.lines(list)
		return
	}
	f.Value = textOf(v)
}

// lines writes a list as its field reads it.
func (f *field) lines(list []any) string {
	var out []string
	for _, v := range list {
		m, ok := v.(map[string]any)
		if !ok {
			out = append(out, textOf(v))
			continue
		}
		var words []string
		for _, k := range strings.Fields(f.Rows) {
			words = append(words, textOf(m[k]))
		}
		out = append(out, strings.Join(words, " "))
	}
	if f.Rows == "numbers" {
		return strings.Join(out, " ")
	}
	return strings.Join(out, "\n")
}

// choose checks the answer of that value.
func (f *field) choose(value string) {
	for i := range f.Options {
		f.Options[i].Checked = f.Options[i].Value == value
	}
}

// chosen is a choice with one answer checked.
func chosen(f field, value string) field {
	f.choose(value)
	return f
}

// options are answers whose words are their codes as people say them.
func options[T ~string](codes ...T) []option {
	os := make([]option, len(codes))
	for i, c := range codes {
		os[i] = option{Value: string(c), Label: jobs.Capital(spaced(c))}
	}
	return os
}

// wordOptions are answers with words of their own.
func wordOptions(list []jobs.Word) []option {
	os := make([]option, len(list))
	for i, w := range list {
		os[i] = option{Value: w.Code, Label: jobs.Capital(w.Says)}
	}
	return os
}

// blank puts an empty answer first: nothing is chosen for anybody.
func blank(says string, os []option) []option {
	return append([]option{{Value: "", Label: says}}, os...)
}

// head is a heading between the fields of a form.
func head(text string) field { return field{Kind: "head", Label: text} }

// surfaceSelect asks for a surface of the job.
func surfaceSelect(j *jobs.Job, name, label, none string) field {
	f := field{Kind: "select", Name: name, Label: label, Options: []option{{Value: "", Label: none}}}
	for _, s := range j.Surfaces {
		f.Options = append(f.Options, option{Value: s.Code, Label: s.Code + " " + surfaceName(j, s)})
	}
	return f
}
