package pages_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/jpeg"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// office is the world with the office's side played.
func office(t *testing.T) *pagestest.World {
	t.Helper()
	w := lanternWorld(t)
	w.Office()
	w.As(pagestest.Maren, jobs.Supervisor)
	return w
}

// form is what a browser sends of a page's form as it stands: what is typed already, what is chosen already.
func formOf(t *testing.T, w *pagestest.World, path string) url.Values {
	t.Helper()
	return valuesOf(page(t, w, path).one(t, ".form"))
}

// valuesOf is what a form would send as it stands, its buttons left out.
func valuesOf(f *node) url.Values {
	v := url.Values{}
	for _, n := range f.all("input") {
		switch n.attr["type"] {
		case "radio", "checkbox":
			if _, on := n.attr["checked"]; on {
				v.Add(n.attr["name"], n.attr["value"])
			}
		case "file":
		default:
			v.Add(n.attr["name"], n.attr["value"])
		}
	}
	for _, n := range f.all("textarea") {
		v.Add(n.attr["name"], n.text)
	}
	for _, s := range f.all("select") {
		for _, o := range s.all("option") {
			if _, on := o.attr["selected"]; on {
				v.Set(s.attr["name"], o.attr["value"])
			}
		}
	}
	return v
}

// last is the last record of a job of the kind.
func last(t *testing.T, j *jobs.Job, kind string) *jobs.Record {
	t.Helper()
	rs := j.Of(kind)
	if len(rs) == 0 {
		t.Fatalf("no %s is recorded", kind)
	}
	return rs[len(rs)-1]
}

// row16 is the same value in the bands from 100 to 3150 Hz.
func row16(v string) string { return strings.TrimSpace(strings.Repeat(v+"\t", 16)) }

// Every form of the office records its kind, with what was typed in it.
func TestOfficeForms(t *testing.T) {
	w := office(t)
	complaint := last(t, w.JobAs(pagestest.Job), "complaint").ID
	for _, c := range []struct {
		path, kind string
		typed      url.Values
		says       string // in the record's own JSON
	}{
		{lantern + "/describe", "job", url.Values{"pick": {"comfort/0", "england_new/0"}, "site": {"7b Lantern Row"}}, `"value_db":45`},
		{lantern + "/room", "room", url.Values{"code": {"R9"}, "length_m": {"4.2"}, "width_m": {"3"}, "heights_m": {"2.4 2.45 2.41"}}, `"heights_m":[2.4,2.45,2.41]`},
		{lantern + "/room/R9", "room", url.Values{"use": {"study"}}, `"length_m":4.2`},
		{lantern + "/structure", "structure", url.Values{"code": {"J9"}, "load_limit_kn_m2": {"0.5"}}, `"load_limit_kn_m2":0.5`},
		{lantern + "/surface", "surface", url.Values{"code": {"W9"}, "kind": {"wall"}, "width_m": {"4"}, "height_m": {"2.5"}, "openings": {"0.9 x 2.1"}, "ways": {"unknown"}}, `"openings":[{"width_m":0.9,"height_m":2.1}]`},
		{lantern + "/s/W9/describe", "surface", url.Values{"structure": {"J9"}, "side": {"2"}, "ways": {"list"}, "paths[0].rij_w_db": {"55"}}, `"side":2`},
		{lantern + "/enquiry", "enquiry", url.Values{"tried": {"a carpet"}}, "every word of their television"},
		{lantern + "/baseline", "baseline", url.Values{"answers.voices": {"8"}}, `"voices":8`},
		{lantern + "/finding", "survey", url.Values{"finding": {"A duct"}, "known": {"seen"}, "category": {"service"}}, "A duct"},
		{c1 + "/flanking", "flanking", url.Values{"path": {"steel"}, "decision": {"leave"}}, `"path":"steel"`},
		{lantern + "/s/W1/sign?path=chimney_breast", "sign", url.Values{"statement": {"declined"}, "name": {"R. H."}, "role": {"client"}}, `"flanking":"chimney_breast"`},
		{c1 + "/5/detail", "layer_detail", url.Values{"generic": {"dense board"}, "fixing.type": {"screws"}, "fixing.length_mm": {"42"}, "edge.seal": {"acoustic_sealant"}, "equals[0].layer.kind": {"board"},
			"equals[0].layer.thickness_mm": {"15"}, "equals[0].layer.mass_kg_m2": {"13"}, "hold_point": {"true"}}, `"hold_point":true`},
		{lantern + "/quote", "quote", url.Values{"variation": {"a second board"}, "pays": {"client"}, "price": {"310.5"}}, `"price":310.5`},
		{lantern + "/test", "sound_test", url.Values{"quantity": {"dntw"}, "surfaces": {"C1"}, "body": {"us"}, "source_room": {"a"}, "receiving_room": {"b"},
			"bands": {"30 31 32 33 34 35 36 37 38 39 40 41 42 43 44 45"}}, `"value_db":41`}, // by hand with the reference of ISO 717-1: 32 dB of deviations at 41, 44 dB at 42
		{lantern + "/test", "sound_test", url.Values{"quantity": {"dntw"}, "surfaces": {"C1"}, "body": {"us"}, "source_room": {"c"}, "receiving_room": {"d"}, "volume_m3": {"30"},
			"l1": {row16("90")}, "l2": {row16("50")}, "background": {row16("20")}, "t": {row16("0.5")}}, `"value_db":40`}, // D_nT 40 dB in each band, which rates as 40: 26 dB of deviations, by hand
		{c1 + "/sign-off", "sign_off", url.Values{"not_seen": {"behind the chimney breast"}, "note": {"the second test is booked"}}, "behind the chimney breast"},
		{lantern + "/follow-up/3", "follow_up", url.Values{"answers.voices": {"2"}, "when": {"night"}, "compared": {"better"}}, `"month":3`},
		{lantern + "/complaint", "complaint", url.Values{"words": {"Again"}, "kind": {"bass"}, "severity": {"7"}}, `"severity":7`},
		{lantern + "/complaint/" + complaint + "/outcome", "outcome", url.Values{"outcome": {"query_explained"}, "cause": {"expectation"}, "confidence": {"reasoned"}}, "expectation"},
		{lantern + "/complaint/" + complaint + "/again", "complaint", url.Values{"words": {"Still"}, "kind": {"voices"}}, "Still"},
		{lantern + "/right/" + complaint, "put_right", url.Values{"cause": {"method"}, "hours": {"2"}, "cost": {"80"}}, `"cost":80`},
		{lantern + "/return", "return", url.Values{"material": {"board 15 mm"}, "quantity": {"3"}, "unit": {"sheets"}, "reason": {"surplus"}, "to": {"stores"}}, `"to":"stores"`},
		{lantern + "/rule", "firm_rule", url.Values{"sample_one_in": {"2"}}, `"sample_one_in":2`},
		{"/firm/material", "material", url.Values{"id": {"mat-9"}, "name": {"a mat"}, "kinds": {"resilient_mat"}, "dynamic_stiffness_mn_m3": {"12"}, "masses": {"10 1.2\n17 2"}, "spread": {"± 10 %"}, "source": {"data sheet"}}, `"thickness_mm":17`},
		{"/firm/material/mat-9", "material", url.Values{"spread": {"± 5 %"}}, `"dynamic_stiffness_mn_m3":12`},
		{"/firm/price", "price", url.Values{"id": {"clip"}, "item": {"clip"}, "unit": {"piece"}, "price": {"1.9"}}, `"price":1.9`},
		{"/firm/targets/own", "target_set", url.Values{"targets[0].element": {"wall"}, "targets[0].quantity": {"dntw"}, "targets[0].value_db": {"50"}}, `"value_db":50`},
		{"/firm/take-off", "takeoff_rules", url.Values{"rules.waste": {"0.12"}, "stock_screws_mm": {"25 42"}}, `"stock_screws_mm":[25,42]`},
		{"/firm/rule", "firm_rule", url.Values{"cover_after_h": {"4"}}, `"cover_after_h":4`},
	} {
		v := formOf(t, w, c.path)
		for k, x := range c.typed {
			v[k] = x
		}
		if r := post(t, w, c.path, v); r.status != http.StatusSeeOther {
			t.Errorf("POST %s: %d\n%v", c.path, r.status, parsePage(t, r.body).one(t, "main").words())
			continue
		}
		job := pagestest.Job
		if strings.HasPrefix(c.path, "/firm") {
			job = pagestest.Company
		}
		r := last(t, w.JobAs(job), c.kind)
		said := pages.Said(r)
		if c.kind == "layer_detail" || c.kind == "complaint" || c.kind == "flanking" {
			said = pages.Said(w.JobAs(job).Records[len(w.JobAs(job).Records)-1])
		}
		if !strings.Contains(said, c.says) {
			t.Errorf("%s: recorded %s, want %s in it", c.path, said, c.says)
		}
	}
	// What was recorded leaves every page whole.
	crawl(t, w, func(path string, _ reply, doc *node) { checkMarkup(t, path, doc) })
}

// Photos by themselves are recorded one by one, at their layer.
func TestPhotosByThemselves(t *testing.T) {
	w := office(t)
	before := len(w.JobAs(pagestest.Job).Of("photo"))
	upload(t, w, c1+"/photo", url.Values{"layer": {"3"}}, jpegOf(t, 90), jpegOf(t, 160)).mustSee(t, c1)
	rs := w.JobAs(pagestest.Job).Of("photo")
	if len(rs) != before+2 || rs[len(rs)-1].On.Layer != 3 {
		t.Errorf("%d photos, before %d", len(rs), before)
	}
	if r := upload(t, w, c1+"/photo", url.Values{}); r.status != http.StatusUnprocessableEntity {
		t.Errorf("no photo at all: %d", r.status)
	}
}

func jpegOf(t *testing.T, grey uint8) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 16, 16))
	for i := range m.Pix {
		m.Pix[i] = grey
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// What has to be corrected is said at its field, and nothing that was typed is lost.
func TestOfficeFormsKeepWhatWasTyped(t *testing.T) {
	w := office(t)
	before := len(w.JobAs(pagestest.Job).Records)
	for _, c := range []struct {
		path  string
		typed url.Values
		field string
	}{
		{lantern + "/surface", url.Values{"code": {"W8"}, "kind": {"wall"}, "width_m": {"4"}, "height_m": {"2.5"}, "openings": {"0.9 door"}}, "f-openings"},
		{lantern + "/describe", url.Values{"name": {"x"}, "targets[1].value_db": {"900"}, "targets[1].quantity": {"dntw"}}, "f-targets-1-value_db"},
		{lantern + "/test", url.Values{"quantity": {"dntw"}, "bands": {"100 31,2\n125 30,1"}}, "f-decimal-0"},
		{lantern + "/follow-up/1", url.Values{"no_reply": {"true"}, "answers.voices": {"3"}}, "f-no_reply"},
		{lantern + "/baseline", url.Values{"answers.voices": {"11"}}, "f-answers-voices"},
		{lantern + "/finding", url.Values{"finding": {"A duct"}}, "f-known-0"},
	} {
		r := post(t, w, c.path, c.typed)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("POST %s: %d", c.path, r.status)
			continue
		}
		doc := parsePage(t, r.body)
		checkMarkup(t, c.path, doc)
		if got := doc.one(t, ".errors").one(t, "a").attr["href"]; got != "#"+c.field {
			t.Errorf("%s: the complaint leads to %s, want #%s: %s", c.path, got, c.field, doc.one(t, ".errors").words())
		}
		for name, values := range c.typed {
			kept := false
			for _, n := range append(append(doc.all("input"), doc.all("textarea")...), doc.all("option")...) {
				kept = kept || n.attr["value"] == values[0] || strings.TrimSpace(n.text) == values[0]
			}
			if !kept {
				t.Errorf("%s: %s = %q is lost", c.path, name, values[0])
			}
		}
	}
	if after := len(w.JobAs(pagestest.Job).Records); after != before {
		t.Errorf("%d entries were recorded", after-before)
	}
}

// A table that is copied from a spreadsheet is read with a line of words above it, with a point or, where that is said, a comma; what is wrong with it is
// said at its own field, with the line and what stands there.
func TestBandsAreCopiedFromASpreadsheet(t *testing.T) {
	w := office(t)
	bands := []int{100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150}
	var table strings.Builder
	table.WriteString("Hz\tDnT dB\r\n")
	for i, hz := range bands {
		fmt.Fprintf(&table, "%d\t%d.5\r\n", hz, 30+i)
	}
	rooms := url.Values{"quantity": {"dntw"}, "source_room": {"R1"}, "receiving_room": {"R2"}, "body": {"Saltgate Test Room"}}
	typed := func(more url.Values) url.Values {
		v := maps.Clone(rooms)
		maps.Copy(v, more)
		return v
	}
	for _, v := range []url.Values{{"bands": {table.String()}}, {"bands": {strings.ReplaceAll(table.String(), ".", ",")}, "decimal": {"comma"}}} {
		if r := post(t, w, lantern+"/test", typed(v)); r.status != http.StatusSeeOther {
			t.Fatalf("%v: %d %s", v, r.status, parsePage(t, r.body).one(t, ".errors").words())
		}
		if got := last(t, w.JobAs(pagestest.Job), "sound_test").What.(*jobs.SoundTest); got.BandsDB.Len() != len(bands) || got.ValueDB == nil {
			t.Errorf("%v: recorded %+v", v, got)
		}
	}
	if says := page(t, w, lantern+"/tests").words(); !strings.Contains(says, "From R1 to R2, no surface named; by Saltgate Test Room") {
		t.Errorf("a test of no surface: %s", says)
	}
	for _, c := range []struct {
		typed       url.Values
		field, says string
	}{
		{url.Values{"bands": {"f\tDnT\n100\t30.1\n125\tn/a\n160\t33"}}, "f-bands", "Line 3: not a number. It says \"n/a\"."},
		{url.Values{"bands": {"63\t30.1\n110\t31\n160\t33"}}, "f-bands", "Line 2 does not begin with a third-octave band"},
		{url.Values{"bands": {"31.5\t30.1\n63\t31\n80\t33"}}, "f-bands", "It says 31.5."},
		{url.Values{"bands": {"100\t30.1\n125\t31\n160\t33"}}, "f-bands", "every third-octave band from 100 to 3150 Hz"},
		{url.Values{"bands": {""}}, "f-value_db", "Give the value, the bands, or the whole measurement."},
		{url.Values{"l1": {"100\t90\n125\t91"}, "l2": {"100\t50\n125\t51"}, "t": {"100\t0.5\n125\t0.5"}}, "f-l1", "every third-octave band from 100 to 3150 Hz"},
		{url.Values{"l1": {"100\t90\n125\tx"}}, "f-l1", "Line 2: not a number."},
	} {
		r := post(t, w, lantern+"/test", typed(c.typed))
		doc := parsePage(t, r.body)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", c.typed, r.status)
			continue
		}
		says := doc.one(t, ".errors").words()
		if got := doc.one(t, ".errors").all("a")[0].attr["href"]; got != "#"+c.field || !strings.Contains(says, c.says) || strings.Contains(says, "db must") || strings.Contains(says, "ieldtest") {
			t.Errorf("%v: leads to %s, says %s", c.typed, got, says)
		}
	}
}

func layersOf(doc *node) []*node {
	var ls []*node
	for _, list := range doc.all(".draft") {
		ls = append(ls, list.all("[id]")...)
	}
	return slices.DeleteFunc(ls, func(n *node) bool { return n.tag != "li" })
}

// A list is built up button by button; nothing is recorded before the last one.
func TestBuildUpSheet(t *testing.T) {
	w := office(t)
	sheet := lantern + "/s/W1/specify"
	v := formOf(t, w, sheet)
	before := len(w.JobAs(pagestest.Job).Records)
	was := len(w.JobAs(pagestest.Job).Surface("W1").Specified)
	press := func(act string, typed url.Values) *node {
		t.Helper()
		v.Set("act", act)
		for k, x := range typed {
			v[k] = x
		}
		r := post(t, w, sheet, v)
		if r.status != http.StatusOK {
			t.Fatalf("%s: %d\n%s", act, r.status, parsePage(t, r.body).one(t, "main").words())
		}
		doc := parsePage(t, r.body)
		checkMarkup(t, act, doc)
		v.Set("draft", doc.one(t, ".sheet").one(t, "input[name=draft]").attr["value"])
		return doc
	}
	if doc := press("add", url.Values{"add_kind": {"board"}}); len(layersOf(doc)) != was+1 {
		t.Fatalf("%d layers after adding one to %d", len(layersOf(doc)), was)
	}
	// By hand: 12 kg/m² that are not yet a number stay as typed, and are said.
	doc := press("show", url.Values{"layer.thickness_mm": {"15"}, "layer.mass_kg_m2": {"12,6"}})
	if got := doc.one(t, "#f-layer-mass_kg_m2").attr["value"]; got != "12,6" {
		t.Errorf("typed 12,6 came back as %q", got)
	}
	if !strings.Contains(doc.one(t, ".warnings").words(), "write a number only") {
		t.Errorf("nothing says what is wrong with 12,6: %s", doc.one(t, ".warnings").words())
	}
	doc = press("list", url.Values{"list_material": {"dense-board"}})
	if got := doc.one(t, "#f-layer-mass_kg_m2").attr["value"]; got != "12.6" { // the invented data sheet of the test
		t.Errorf("the data sheet gives 12.6 kg/m², the field has %q", got)
	}
	for k := range v {
		if strings.HasPrefix(k, "layer.") {
			v.Del(k)
		}
	}
	v.Set("layer.thickness_mm", "15")
	v.Set("layer.mass_kg_m2", "12.6")
	doc = press(fmt.Sprintf("up-%d", was+1), nil)
	if !strings.HasPrefix(doc.one(t, "h1").words(), "As written here: ") {
		t.Errorf("no prediction of the draft: %s", doc.one(t, "h1").words())
	}
	picture := doc.one(t, "figure").one(t, "img").attr["src"]
	if r := get(t, w, picture); r.status != http.StatusOK || xml.Unmarshal([]byte(r.body), new(struct{})) != nil {
		t.Errorf("the drawing of the draft: %d", r.status)
	}
	press(fmt.Sprintf("down-%d", was), nil)
	press("close", nil)
	press("remove-1", nil)
	if after := len(w.JobAs(pagestest.Job).Records); after != before {
		t.Fatalf("%d entries were recorded on the way", after-before)
	}
	v.Set("act", "record")
	if r := post(t, w, sheet, v); r.status != http.StatusUnprocessableEntity || parsePage(t, r.body).one(t, ".errors").one(t, "a").attr["href"] != "#f-reason" {
		t.Errorf("respecified without a reason: %d", r.status)
	}
	v.Set("reason", "the client asked for more")
	post(t, w, sheet, v).mustSee(t, lantern+"/s/W1")
	s := w.JobAs(pagestest.Job).Surface("W1")
	if len(s.Specified) != was || s.Specified[was-1].MassKgM2() != 12.6 {
		t.Errorf("%d layers, the last of %v kg/m²", len(s.Specified), s.Specified[len(s.Specified)-1].MassKgM2())
	}
	// A new surface begins with a starting build-up.
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"surface","code":"W7","kind":"wall","width_m":4,"height_m":2.5,"existing":[{"kind":"masonry","thickness_mm":100,"mass_kg_m2":180}]}`)
	sheet = lantern + "/s/W7/specify"
	v = formOf(t, w, sheet)
	up := jobs.BuildUpsFor(jobs.Wall)[0]
	doc = press("start", url.Values{"build_up": {up.Code}})
	if got := len(layersOf(doc)); got != len(up.Parts) {
		t.Errorf("%s has %d layers, the sheet %d", up.Code, len(up.Parts), got)
	}
	v.Set("act", "record")
	post(t, w, sheet, v).mustSee(t, lantern+"/s/W7")
	if s := w.JobAs(pagestest.Job).Surface("W7"); s.BuildUp() != up.Code || len(s.Specified) != len(up.Parts) {
		t.Errorf("specified by %q with %d layers", s.BuildUp(), len(s.Specified))
	}
}

// What exists is written on the same sheet and changes nothing else of the surface.
func TestExistingSheet(t *testing.T) {
	w := office(t)
	for _, sheet := range []string{lantern + "/structures/J1/existing"} {
		v := formOf(t, w, sheet)
		was := *w.JobAs(pagestest.Job).Structure("J1")
		v.Set("act", "add")
		v.Set("add_kind", "board")
		doc := parsePage(t, post(t, w, sheet, v).body)
		v = url.Values{"draft": {doc.one(t, ".sheet").one(t, "input[name=draft]").attr["value"]}, "act": {"record"}, "layer.thickness_mm": {"18"}, "layer.mass_kg_m2": {"9"}}
		post(t, w, sheet, v).mustSee(t, lantern+"/office")
		now := w.JobAs(pagestest.Job).Structure("J1")
		if len(now.Existing) != len(was.Existing)+1 || now.Name != was.Name || (now.LoadLimit == nil) != (was.LoadLimit == nil) {
			t.Errorf("J1 was %+v, is %+v", was, now)
		}
	}
}

// What a new job needs is asked first; targets are closed until somebody asks, and a part with an answer or a complaint in it is open.
func TestFormsFoldWhatMostLeaveOut(t *testing.T) {
	w := office(t)
	parts := func(doc *node) (open, closed []string, folded map[string]bool) {
		folded = map[string]bool{}
		for _, d := range doc.one(t, ".form").all("details") {
			says := d.one(t, "summary").words()
			if _, is := d.attr["open"]; is {
				open = append(open, says)
			} else {
				closed = append(closed, says)
			}
			for _, kind := range []string{"input", "select", "textarea"} {
				for _, n := range d.all(kind) {
					folded[n.attr["id"]] = true
				}
			}
		}
		return open, closed, folded
	}
	doc := page(t, w, "/new-job")
	open, closed, folded := parts(doc)
	var asked []string
	for _, kind := range []string{"input", "select", "textarea"} {
		for _, n := range doc.one(t, ".form").all(kind) {
			if n.attr["type"] != "hidden" && !folded[n.attr["id"]] {
				asked = append(asked, n.attr["name"])
			}
		}
	}
	if len(open) > 0 || len(closed) < 4 || !slices.Equal(asked, []string{"name", "site"}) {
		t.Errorf("a new job asks %v first; open: %v, closed: %v", asked, open, closed)
	}
	v := formOf(t, w, "/new-job")
	v.Set("name", "4 Cooper's Yard")
	v.Set("targets[0].quantity", "dntw")
	v.Set("targets[0].value_db", "900")
	v.Set("pick", "scotland/0")
	r := post(t, w, "/new-job", v)
	open, _, _ = parts(parsePage(t, r.body))
	if r.status != http.StatusUnprocessableEntity || !slices.Equal(open, []string{"Targets of Scotland", "A target of your own"}) {
		t.Errorf("%d, open to be corrected: %v", r.status, open)
	}
	if open, _, _ = parts(page(t, w, "/jobs/"+pagestest.Job+"/describe")); len(open) != 1 || !strings.HasPrefix(open[0], "The targets of this job") {
		t.Errorf("open of a job with targets: %v", open)
	}
	if open, _, _ = parts(page(t, w, "/jobs/"+pagestest.Job+"/test")); len(open) > 0 {
		t.Errorf("open of a sound test: %v", open)
	}
}

// The first target of a new job, its rooms and surfaces come from pages alone.
func TestNewJob(t *testing.T) {
	w := office(t)
	v := formOf(t, w, "/new-job")
	v.Set("name", "4 Cooper's Yard")
	v["pick"] = []string{"england_conversion/0"}
	r := post(t, w, "/new-job", v)
	to := r.header.Get("Location")
	if r.status != http.StatusSeeOther || !strings.HasSuffix(to, "/office") {
		t.Fatalf("%d to %s", r.status, to)
	}
	again := post(t, w, "/new-job", v)
	if again.header.Get("Location") != to {
		t.Errorf("the same form sent twice opened %s and %s", to, again.header.Get("Location"))
	}
	j := w.JobAs(strings.TrimSuffix(strings.TrimPrefix(to, "/jobs/"), "/office"))
	if len(j.Targets) != 1 || j.Targets[0].Source == "" {
		t.Errorf("targets %+v", j.Targets)
	}
}

// What the pages say of the invented job: the verdict of its test is a hard line, the quote froze a prediction, the fault
// costs something. Margin: arithmetic, 41 - 43.
func TestOfficePagesSay(t *testing.T) {
	w := office(t)
	for path, want := range map[string][]string{
		lantern + "/tests":            {"41 dB DnT,w + Ctr: fails, limit 43 dB, short by 2 dB.", "Listen first"},
		lantern + "/survey":           {"every word of their television", "No baseline", "The client has not signed yet.", "Joists 50 x 225 at 400"},
		lantern + "/handover":         {"Handed over", "We still hear the television at night.", "After 1 month"},
		lantern + "/non-conformances": {"K32", "Record it put right"},
		lantern + "/take-off":         {"Download as CSV", "GBP", "load"},
		lantern + "/s/W1/prediction":  {"As specified", "Frozen", "costs by itself", "by third-octave band"},
		"/firm":                       {"dense board", "Evidence", "1 finished job in 10"},
		lantern + "/s/C1/specify":     {"As written here", "Added load"},
		lantern + "/s/W1/sign-off":    {"nobody saw"},
	} {
		words := strings.ToLower(strings.ReplaceAll(page(t, w, path).one(t, "main").words(), "\u202f", " "))
		for _, s := range want {
			if !strings.Contains(words, strings.ToLower(s)) {
				t.Errorf("%s does not say %q:\n%s", path, s, words)
			}
		}
	}
	if r := get(t, w, lantern+"/pack.pdf"); !bytes.HasPrefix([]byte(r.body), []byte("%PDF")) {
		t.Errorf("the pack: %d, %.20q", r.status, r.body)
	}
	if r := get(t, w, lantern+"/take-off.csv"); !strings.HasPrefix(r.body, "surface,layer,item,quantity,unit") {
		t.Errorf("the order as CSV: %d, %.60q", r.status, r.body)
	}
	if r := get(t, w, lantern+"/s/W1/curve-328.svg"); r.status != http.StatusOK || !strings.Contains(r.body, "as specified") {
		t.Errorf("the curve: %d", r.status)
	}
}
