package pages

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/s/:surface/typed", Roles: everybody, Get: getTypeIn, Post: postTypeIn, View: recordView{}})

// typing is a site sheet that was filled in by pen, as it is typed in: one form for all of it, in the order of the paper. What is left empty
// was left empty on the paper, and what is recorded already is not asked.
type typing struct {
	v    *visit
	s    *jobs.Surface
	view recordView
	rows []typedRow
}

// typedRow is one line of the paper: a layer in place, or a check.
type typedRow struct {
	layer int
	check *jobs.Check // nil: the layer itself
}

// code is that of the check; empty for the layer itself.
func (r typedRow) code() string {
	if r.check == nil {
		return ""
	}
	return r.check.Rule.Code
}

func (r typedRow) name(what string) string {
	if r.check == nil {
		return fmt.Sprintf("%s.%d", what, r.layer)
	}
	return fmt.Sprintf("%s.%d.%s", what, r.layer, r.check.Rule.Code)
}

func typingOf(v *visit, j *jobs.Job, s *jobs.Surface) *typing {
	t := &typing{v: v, s: s, view: recordView{Where: whereSurface(j, s), Answer: "Type in the sheet of " + s.Code,
		Lead: []string{"In the order of the paper. Leave empty what is empty there. Photos are added on the page of each check."}}}
	t.view.Form = form{Submit: "Record what is on the sheet", Fields: []field{
		{Kind: "text", Name: "by", Label: "Filled in by", Hint: "Where that is not you."},
		momentField("at", "Filled in at", "")}}
	for _, l := range s.Layers {
		if shareLeft(l) < 1e-9 {
			continue
		}
		if len(t.rows) == 0 {
			t.add(field{Kind: "head", Label: "Layers", Hint: "How much of each is in place: 100 for all of it."})
		}
		row := typedRow{layer: l.N}
		t.rows = append(t.rows, row)
		t.add(field{Kind: "decimal", Name: row.name("share"), Label: fmt.Sprintf("%d %s", l.N, jobs.Capital(l.Name())), Unit: "%", Refused: shareRefused(l)})
	}
	t.checks(0, "Checks of the whole surface")
	for _, l := range s.Layers {
		t.checks(l.N, fmt.Sprintf("Checks of layer %d", l.N))
	}
	// It is recorded in the order of the work: what is in place, and then what was found on it, before the next covers it.
	slices.SortStableFunc(t.rows, func(a, b typedRow) int {
		return cmp.Or(cmp.Compare(a.layer, b.layer), cmp.Compare(len(a.code()), len(b.code())))
	})
	if len(t.rows) == 0 {
		t.view.Lead, t.view.Form = []string{"Everything that the sheet asks is recorded already."}, form{}
		return t
	}
	t.add(field{Kind: "head", Label: "Written beside it"}, field{Kind: "area", Name: "note", Label: "Note", Hint: "For a check that does not apply, or passes outside its window or without its value: why."})
	return t
}

func (t *typing) add(fs ...field) { t.view.Form.Fields = append(t.view.Form.Fields, fs...) }

// checks asks the open checks of a layer, under a title.
func (t *typing) checks(layer int, title string) {
	for _, c := range t.s.ChecksOf(layer) {
		if c.State != jobs.CheckOpen {
			continue
		}
		if title != "" {
			t.add(field{Kind: "head", Label: title})
			title = ""
		}
		row := typedRow{layer: layer, check: c}
		t.rows = append(t.rows, row)
		t.add(field{Kind: "select", Name: row.name("result"), Label: c.Rule.Code + " " + c.Rule.Title,
			Options: []option{{Label: "Empty"}, {Value: "pass", Label: "Passed"}, {Value: "fail", Label: "Failed"}, {Value: "could_not_see", Label: "Could not see it"}, {Value: string(jobs.NotApplicable), Label: "Does not apply"}}})
		for _, m := range c.Rule.Measures {
			t.add(field{Kind: "decimal", Name: row.name("measured." + m.Key), Label: c.Rule.Code + ", " + m.Name, Unit: m.Range.Unit})
		}
	}
}

// edges are what the sheet says: of each layer first what is in place, then its checks.
func (t *typing) edges(r *reader) (list []map[string]any, rows []typedRow) {
	r.text("by")
	r.moment("at")
	note := strings.TrimSpace(t.v.c.FormValue("note"))
	edge := func(do string, layer int) map[string]any {
		e := maps.Clone(r.edge)
		e["do"], e["from_paper"] = do, true
		at(e, t.s, layer)
		return e
	}
	for _, row := range t.rows {
		if row.check == nil {
			if percent, ok := r.number(row.name("share")); ok {
				e := edge("install", row.layer)
				e["share"] = hundredth(percent)
				list, rows = append(list, e), append(rows, row)
			}
			continue
		}
		measured := map[string]any{}
		for _, m := range row.check.Rule.Measures {
			if n, ok := r.number(row.name("measured." + m.Key)); ok {
				measured[m.Key] = n
			}
		}
		result := t.v.c.FormValue(row.name("result"))
		if result == "" && len(measured) > 0 {
			r.f.complain(row.name("result"), row.check.Rule.Code+": say what came of it, since a value is written down.")
		}
		if result == "" {
			continue
		}
		e := edge("check", row.layer)
		// What is claimed is capped by what is shown: without photo or measured value it counts less.
		e["check"], e["result"], e["evidence"] = row.check.Rule.Code, result, 3
		if len(measured) > 0 {
			e["measured"] = measured
		}
		if doubtPass(r.f, t.s, row.check, result, note, measured, row.name) && note != "" {
			e["note"] = note
		}
		if result == string(jobs.NotApplicable) { // the paper has one place for the reasons
			e["note"] = note
			if note == "" {
				r.f.complain("note", "Write why "+row.check.Rule.Code+" does not apply.")
			}
		}
		list, rows = append(list, e), append(rows, row)
	}
	if note != "" {
		e := edge("note", 0)
		e["text"] = note
		list, rows = append(list, e), append(rows, typedRow{})
	}
	if len(list) == 0 && len(r.f.Errors) == 0 {
		r.f.complain("by", "Nothing is filled in. Type what is on the sheet.")
	}
	return list, rows
}

// placed is how a complaint of the record names what it is about: the n-th of what was recorded together.
var placed = regexp.MustCompile(`^\[(\d+)\]\.(.*)$`)

// where names the form's field that a complaint is about.
func where(err error, rows []typedRow) error {
	var in *jobs.InputError
	if !errors.As(err, &in) {
		return err
	}
	m := placed.FindStringSubmatch(in.Field)
	if m == nil {
		return err
	}
	i, bad := strconv.Atoi(m[1])
	if bad != nil || i >= len(rows) || rows[i].layer == 0 && rows[i].check == nil {
		return err
	}
	at := *in
	at.Field = rows[i].name(m[2])
	return &at
}

func getTypeIn(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	return v.ask(typingOf(v, j, s).view)
}

func postTypeIn(v *visit) error {
	j, s, err := v.surface()
	if err != nil {
		return err
	}
	t := typingOf(v, j, s)
	f := &t.view.Form
	list, rows := t.edges(v.read(f, ""))
	if len(f.Errors) == 0 {
		err := v.record(j.ID, list...)
		if err == nil {
			return v.see(surfacePath(j, s))
		}
		if !f.take(where(err, rows)) {
			return err
		}
	}
	v.c.Status(fiber.StatusUnprocessableEntity)
	return v.ask(t.view)
}
