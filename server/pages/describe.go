package pages

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "record", Path: "/new-job", Roles: deciders, Get: getNewJob, Post: postNewJob, View: recordView{}})
	_ = registerDeed(deed{path: "/jobs/:job/describe", roles: deciders, do: "job", ask: askJob, base: jobBase, edge: pickTargets, to: toOffice})
	_ = registerDeed(deed{path: "/jobs/:job/room", roles: deciders, do: "room", ask: askRoom, to: toOffice})
	_ = registerDeed(deed{path: "/jobs/:job/room/:room", roles: deciders, do: "room", ask: askRoom, base: roomBase, to: toOffice})
	_ = registerDeed(deed{path: "/jobs/:job/structure", roles: deciders, do: "structure", ask: askStructure, to: toExistingOf})
	_ = registerDeed(deed{path: "/jobs/:job/structures/:structure", roles: deciders, do: "structure", ask: askStructure, base: structureBase, to: toOffice})
	_ = registerDeed(deed{path: "/jobs/:job/surface", roles: deciders, do: "surface", ask: askSurface, edge: surfaceFlanking, to: toNewSurface})
	_ = registerDeed(deed{path: "/jobs/:job/s/:surface/describe", roles: deciders, do: "surface", ask: askSurface, base: surfaceBase, edge: surfaceFlanking})
)

func toOffice(on spot) string { return jobPath(on.j) + "/office" }

// toNewSurface goes on to what is specified for it.
func toNewSurface(on spot) string {
	return jobPath(on.j) + "/s/" + strings.TrimSpace(on.v.c.FormValue("code")) + "/specify"
}

func toExistingOf(on spot) string {
	return jobPath(on.j) + "/structures/" + strings.TrimSpace(on.v.c.FormValue("code")) + "/existing"
}

// ownTargets is how many targets a form has room for besides those that are recorded.
const ownTargets = 2

// targetFolds ask for the targets: those of the sets, by country, then those that hold now with room for others.
func targetFolds(v *visit, j *jobs.Job) ([]fold, error) {
	have := j.Targets
	firm, err := v.firm()
	if err != nil {
		return nil, err
	}
	var folds []fold
	for _, set := range firm.TargetSets() {
		for i, t := range set.Targets() {
			says := "Targets of " + set.Country
			if set.Country == "" {
				says = "Targets of other sets"
			}
			at := slices.IndexFunc(folds, func(f fold) bool { return f.Says == says })
			if at < 0 {
				at = len(folds)
				// All are read together; a name of its own tells the boxes of each part apart on the page.
				folds = append(folds, fold{says, []field{{Form: itoa(at), Kind: "box", Name: "pick", Aside: true, Label: "What has to be reached", Hint: "Starting points with their source. The document in force goes before them."}}})
			}
			picks := &folds[at].Fields[0].Options
			*picks = append(*picks, option{Value: fmt.Sprintf("%s/%d", set.ID, i), Label: jobs.Capital(set.Use) + ": " + targetWords(t), Hint: sentence(t.Source + noteOf(set.Note))})
		}
	}
	var fs []field
	for i := range len(have) + ownTargets {
		key := fmt.Sprintf("targets[%d].", i)
		name := fmt.Sprintf("Target %d", i+1)
		fs = append(fs, field{Kind: "select", Name: key + "quantity", Label: name, Options: blank("None", quantityOptions())},
			field{Kind: "decimal", Name: key + "value_db", Label: name + ": value", Unit: "dB"},
			field{Kind: "text", Name: key + "source", Label: name + ": source", Hint: "Which rule, lease or agreement asks for it."},
			field{Kind: "select", Name: key + "element", Label: name + ": of", Options: blank("Everything", []option{{Value: jobs.ElementWall, Label: "Walls"}, {Value: jobs.ElementFloor, Label: "Floors and ceilings"}})})
		if codes := roomCodes(j); len(codes) > 0 {
			fs = append(fs, field{Kind: "select", Name: key + "room", Label: name + ": of the room", Options: blank("Any", codes)})
		}
		if codes := surfaceCodes(j); len(codes) > 0 {
			fs = append(fs, field{Kind: "select", Name: key + "surface", Label: name + ": of the surface", Options: blank("Any", codes)})
		}
	}
	if len(have) > 0 {
		of := len(fs) / (len(have) + ownTargets) * len(have)
		return append(folds, fold{"The targets of this job; leave a value empty to take one away", fs[:of]}, fold{"More targets", fs[of:]}), nil
	}
	return append(folds, fold{"A target of your own", fs}), nil
}

func roomCodes(j *jobs.Job) []option {
	var os []option
	for _, r := range j.Rooms {
		os = append(os, option{Value: r.Code, Label: r.Called()})
	}
	return os
}

func surfaceCodes(j *jobs.Job) []option {
	var os []option
	for _, s := range j.Surfaces {
		os = append(os, option{Value: s.Code, Label: s.Code + " " + surfaceName(j, s)})
	}
	return os
}

func noteOf(note string) string {
	if note == "" {
		return ""
	}
	return "; " + note
}

func quantityOptions() []option {
	var os []option
	for _, q := range jobs.Quantities() {
		label := jobs.QuantityName(q)
		if q == jobs.LnTw {
			label += ", impact: at most"
		}
		os = append(os, option{Value: q, Label: label})
	}
	return os
}

func jobBase(on spot) (any, error) {
	return map[string]any{"name": on.j.Name, "site": on.j.Site, "targets": on.j.Targets}, nil
}

func askJob(v *visit, on spot) (recordView, error) {
	var err error
	view := recordView{Answer: "The job", Form: form{Submit: "Record the job"}}
	view.Form.Fields = []field{{Kind: "text", Name: "name", Label: "Name of the job"}, {Kind: "text", Name: "site", Label: "Site", Hint: "Address, and how to get in. May follow later."},
		{Kind: "head", Label: "What has to be reached", Hint: "A rule, a lease or an agreement with the client. Without it nobody can say whether a prediction is enough; it may follow later."}}
	view.Form.Folds, err = targetFolds(v, on.j)
	return view, err
}

// pickTargets adds the targets that were picked from the sets, each with its source.
func pickTargets(on spot, r *reader) {
	firm, err := on.v.firm()
	if err != nil {
		return // what was picked is shown still; the record says what is missing
	}
	list, _ := r.edge["targets"].([]any)
	for _, pick := range formValues(r.c, "pick") {
		id, digits, _ := strings.Cut(pick, "/")
		n, err := strconv.Atoi(digits)
		for _, set := range firm.TargetSets() {
			if ts := set.Targets(); err == nil && set.ID == id && n >= 0 && n < len(ts) {
				picked := map[string]any{"quantity": ts[n].Quantity, "value_db": ts[n].ValueDB, "source": ts[n].Source}
				if ts[n].Element != "" {
					picked["element"] = ts[n].Element
				}
				list = append(list, picked)
			}
		}
	}
	if len(list) > 0 {
		r.edge["targets"] = list
	}
}

func newJobView(v *visit, id string) (recordView, error) {
	view, err := askJob(v, spot{v: v, j: jobs.NewJob(id, v.who.Company)})
	view.Where, view.Answer = []crumb{{"Jobs", "/"}}, "A new job"
	view.Form.Submit = "Open the job"
	// The id goes with the form: a form that is sent twice opens one job.
	view.Form.Hidden = []hidden{{"id", id}}
	return view, err
}

func getNewJob(v *visit) error {
	id, err := v.deps.Record.NewID()
	if err != nil {
		return err
	}
	view, err := newJobView(v, id)
	if err != nil {
		return err
	}
	return v.ask(view)
}

func postNewJob(v *visit) error {
	id := v.c.FormValue("id")
	if id == "" || id == v.who.Company {
		fresh, err := v.deps.Record.NewID()
		if err != nil {
			return err
		}
		id = fresh
	}
	view, err := newJobView(v, id)
	if err != nil {
		return err
	}
	r := v.read(&view.Form, "job")
	base := map[string]any{}
	moved := r.edit(base)
	for k, x := range base {
		r.edge[k] = x
	}
	j := jobs.NewJob(id, v.who.Company)
	pickTargets(spot{v: v, j: j}, r)
	view.Form = *r.f
	if len(view.Form.Errors) == 0 {
		err := v.record(id, r.edge)
		if err == nil {
			return v.see("/jobs/" + id + "/office")
		}
		if !view.Form.take(view.Form.atTyped(err, moved)) {
			return err
		}
	}
	return v.askAgain(view)
}

func roomBase(on spot) (any, error) {
	room := on.j.Room(on.v.param("room"))
	if room == nil {
		return nil, jobs.ErrNotFound
	}
	tree, err := treeOf(room.Facts)
	if err != nil {
		return nil, err
	}
	tree["code"], tree["name"] = room.Code, room.Name
	for _, r := range on.j.Of("room") {
		if d, ok := r.What.(*jobs.DescribeRoom); ok && d.Code == room.Code && d.VolumeM3 != nil {
			tree["volume_m3"] = *d.VolumeM3
		}
	}
	return tree, nil
}

func askRoom(_ *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A room", Form: form{Submit: "Record the room"}}
	if code := on.v.param("room"); code != "" {
		view.Answer = "Room " + code
	}
	view.Form.Fields = []field{codeField("R1", on.v.param("room")), {Kind: "text", Name: "name", Label: "Name", Hint: "As the client calls it."},
		{Kind: "text", Name: "use", Label: "Used as"}, {Kind: "text", Name: "floor_level", Label: "Floor"},
		{Kind: "decimal", Name: "length_m", Label: "Length", Unit: "m"}, {Kind: "decimal", Name: "width_m", Label: "Width", Unit: "m"},
		{Kind: "text", Name: "heights_m", Label: "Heights at three points", Unit: "m", Rows: "numbers", Hint: "With a blank between. Old rooms are not square."},
		{Kind: "decimal", Name: "volume_m3", Label: "Volume", Unit: "m³", Hint: "Only where it is not length by width by height."},
		{Kind: "text", Name: "stays", Label: "What stays in it", Hint: "Furniture, people, animals."}, {Kind: "area", Name: "access", Label: "Access", Hint: "Hours, parking, stair, where sheets can turn, water and power."},
		chosen(field{Kind: "choice", Name: "signal", Label: "Whether a phone works in it", Options: []option{{Value: "yes", Label: "Yes"}, {Value: "no", Label: "No"}, {Value: "window", Label: "At the window"}}}, "")}
	return view, nil
}

// codeField asks for a code; what has one keeps it.
func codeField(example, now string) field {
	f := field{Kind: "text", Name: "code", Label: "Code", Hint: "Short and on the sheets, such as " + example + "."}
	if now != "" {
		f.Hint = "Another code describes another one."
	}
	return f
}

// structureFacts is a structure as it is recorded.
func structureFacts(st *jobs.Structure) any {
	return jobs.ImportStructure{Code: st.Code, Name: st.Name, Existing: st.Existing, LoadLimit: st.LoadLimit}
}

func structureBase(on spot) (any, error) {
	st := on.j.Structure(on.v.param("structure"))
	if st == nil {
		return nil, jobs.ErrNotFound
	}
	return structureFacts(st), nil
}

func askStructure(_ *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A structure", Form: form{Submit: "Record the structure"},
		Lead: []string{"What surfaces hang on or stand against: joists, a party wall. Its layers are written on the next page."}}
	if code := on.v.param("structure"); code != "" {
		view.Answer = "Structure " + code
		view.Link = step{"Its layers", jobPath(on.j) + "/structures/" + code + "/existing"}
		view.Lead = nil
	}
	view.Form.Fields = []field{codeField("J1", on.v.param("structure")), {Kind: "text", Name: "name", Label: "Name", Hint: "Such as joists over the living room."},
		{Kind: "decimal", Name: "load_limit_kn_m2", Label: "Agreed limit of the added load", Unit: "kN/m²", Hint: "As a structural engineer gave it. Left empty: none agreed."}}
	return view, nil
}

func surfaceBase(on spot) (any, error) {
	tree, err := treeOf(on.s.SurfaceFacts)
	if err != nil {
		return nil, err
	}
	if paths, ok := tree["flanking"].([]any); ok { // the list is written in rows, which the form names
		tree["paths"] = paths
		tree["ways"] = "list"
	} else {
		tree["ways"] = ""
	}
	delete(tree, "flanking")
	return tree, nil
}

func askSurface(_ *visit, on spot) (recordView, error) {
	view := recordView{Answer: "A surface", Form: form{Submit: "Record the surface"}}
	rows, now := 1, ""
	if on.s != nil {
		view.Answer, now = "Surface "+on.s.Code, on.s.Code
		if on.s.Flanking != nil {
			rows += len(on.s.Flanking.Paths)
		}
		if on.s.Structure == "" {
			view.Link = step{"What exists behind it", surfacePath(on.j, on.s) + "/existing"}
		}
	}
	rooms := field{Kind: "select", Name: "room", Label: "Room that it faces", Hint: "The room in which it has to become quieter, and in which its last layer is seen. Its volume makes the values between rooms.", Options: []option{{Value: "", Label: "Not said"}}}
	for _, r := range on.j.Rooms {
		rooms.Options = append(rooms.Options, option{Value: r.Code, Label: r.Called()})
	}
	hangs := field{Kind: "select", Name: "structure", Label: "Hangs on or stands against", Options: []option{{Value: "", Label: "No shared structure"}}}
	for _, st := range on.j.Structures {
		hangs.Options = append(hangs.Options, option{Value: st.Code, Label: st.Called()})
	}
	view.Form.Fields = []field{codeField("W1", now), {Kind: "choice", Name: "kind", Label: "What it is", Options: options(jobs.SurfaceKinds()...)}, rooms, hangs,
		{Kind: "select", Name: "side", Label: "On which side of the structure", Hint: "The layers of a structure are listed from side 1 to side 2: side 1 is where the list begins, side 2 where it ends.", Options: []option{{Value: "", Label: "No structure"}, {Value: "1", Label: "Side 1"}, {Value: "2", Label: "Side 2"}}},
		head(sizeHead(false)),
		{Kind: "decimal", Name: "width_m", Label: "Width", Unit: "m"}, {Kind: "decimal", Name: "height_m", Label: "Height", Unit: "m", Hint: "Of a floor or ceiling, the other side."},
		head(sizeHead(true)),
		{Kind: "decimal", Name: "length_m", Label: "Length", Unit: "m"}, {Kind: "decimal", Name: "girth_m", Label: "Girth", Unit: "m", Hint: "Round the outside of it, as far as it is covered."},
	}
	limits := fold{"Openings, and limits of thickness and load", []field{
		{Kind: "area", Name: "openings", Label: "Openings", Rows: "width_m height_m", Hint: "One a line, width and height in m, such as 0.9 x 2.1."},
		{Kind: "decimal", Name: "thickness_limit_mm", Label: "Room for the build-up", Unit: "mm"}, {Kind: "decimal", Name: "load_limit_kn_m2", Label: "Agreed limit of the added load", Unit: "kN/m²"}}}
	ways := fold{"Ways round it, in numbers", []field{
		{Kind: "choice", Name: "ways", Aside: true, Label: "What is known of them", Hint: "For the calculation between rooms. What is done about each way is decided in the flanking list.", Options: []option{{Label: "Nothing: the prediction leaves them out and says so", Checked: on.s == nil}, {Value: "list", Label: "They are listed here; an empty list says that there are none"}}}}}
	for i := range rows {
		key, name := fmt.Sprintf("paths[%d].", i), fmt.Sprintf("Way %d: ", i+1)
		ways.Fields = append(ways.Fields,
			field{Kind: "select", Name: key + "path", Label: fmt.Sprintf("Way %d", i+1), Options: []option{{Value: "", Label: "Not said"}, {Value: "Ff", Label: "Ff, flank to flank"}, {Value: "Fd", Label: "Fd, flank to direct"}, {Value: "Df", Label: "Df, direct to flank"}}},
			field{Kind: "decimal", Name: key + "rij_w_db", Label: name + "Rij,w where it is known", Unit: "dB"}, field{Kind: "decimal", Name: key + "ri_w_db", Label: name + "Rw of the first element", Unit: "dB"},
			field{Kind: "decimal", Name: key + "rj_w_db", Label: name + "Rw of the second element", Unit: "dB"}, field{Kind: "decimal", Name: key + "kij_db", Label: name + "Kij of the junction", Unit: "dB"},
			field{Kind: "decimal", Name: key + "length_m", Label: name + "length of the junction", Unit: "m"}, field{Kind: "decimal", Name: key + "delta_r_db", Label: name + "gain by linings", Unit: "dB"})
	}
	view.Form.Folds = []fold{limits, ways}
	return view, nil
}

// sizeHead names the kinds of surface whose size is asked below it: those measured along, or those measured as an area.
func sizeHead(along bool) string {
	var kinds []string
	for _, k := range jobs.SurfaceKinds() {
		if k.Along() == along {
			kinds = append(kinds, spaced(k))
		}
	}
	last := len(kinds) - 1
	return "Size of a " + strings.Join(kinds[:last], ", ") + " or " + kinds[last]
}

// surfaceFlanking puts the ways round where the record has them, and the side as a number.
func surfaceFlanking(_ spot, r *reader) {
	paths, _ := r.edge["paths"].([]any)
	delete(r.edge, "paths")
	delete(r.edge, "ways")
	if r.c.FormValue("ways") == "list" {
		if paths == nil {
			paths = []any{}
		}
		r.edge["flanking"] = paths
	} else {
		r.edge["flanking"] = "unknown"
	}
	if side, ok := r.edge["side"].(string); ok {
		r.edge["side"] = json.Number(side)
	}
}
