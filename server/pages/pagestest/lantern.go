package pagestest

import (
	"fmt"
	"strings"

	"tacet/jobs"
)

// Lantern plays the work at 7b Lantern Row up to a moment that shows most of what a page may have to show: the ceiling is on
// hold, on the wall a check is disputed and a layer was covered unseen, the floor has to be put right, the boxing is ready.
func (w *World) Lantern() {
	w.t.Helper()
	w.Import(Job, "lantern-row.json")
	p := w.Photo()
	site := func(person string, edges ...string) []jobs.Entry {
		w.t.Helper()
		return w.Record(person, jobs.Site, Job, edges...)
	}
	site(Idris, `{"do":"caution","code":"load","answer":"Up to 0.70 kN/m² added to the joists, letter SE-114","decided_by":"the engineer of letter SE-114 (invented)"}`)

	// The wall: standard board agreed for the inner layer; board 2 went up before K23 of layer 2 was seen.
	site(Idris, `{"do":"substitute","surface":"W1","layer":2,"state":"asked","layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8,"material":"plasterboard"},"reason":"One pallet came as standard board."}`)
	w.Record(Maren, jobs.Supervisor, Job, `{"do":"substitute","surface":"W1","layer":2,"state":"agreed","layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8,"material":"plasterboard"},"reason":"Inner layer only."}`)
	site(Idris, `{"do":"install","surface":"W1","layer":1,"share":1}`,
		`{"do":"check","surface":"W1","layer":1,"check":"K06","result":"pass","measured":{"clear_mm":15},"evidence":3,"photos":["`+p+`"]}`)
	site(Pavo, `{"do":"install","surface":"W1","layer":2,"share":1,"mass_kg_m2":9.8,"material":"standard board 15 mm"}`,
		`{"do":"check","surface":"W1","layer":2,"check":"K19","result":"pass","measured":{"screw_mm":42},"evidence":3,"photos":["`+p+`"]}`)
	site(Pavo, `{"do":"install","surface":"W1","layer":3,"share":1}`)
	site(Pavo, `{"do":"install","surface":"W1","layer":4,"share":1}`)
	site(Pavo, `{"do":"check","surface":"W1","layer":4,"check":"K28","result":"pass","measured":{"gap_mm":4},"evidence":3}`)
	site(Idris, `{"do":"check","surface":"W1","layer":4,"check":"K28","result":"fail","measured":{"gap_mm":3,"length_m":1.2},"evidence":3,"photos":["`+p+`"],"note":"Open at the north edge."}`)

	// The floor: the mat is in place over a part; its edge strip is missing behind the radiator tails.
	site(Pavo, `{"do":"install","surface":"F1","layer":1,"share":0.6}`)
	site(Idris, `{"do":"check","surface":"F1","layer":1,"check":"K32","result":"fail","measured":{"length_m":0.8},"evidence":3,"photos":["`+p+`"],"note":"Strip missing behind the radiator tails."}`)

	w.Record(Maren, jobs.Supervisor, Job, `{"do":"release","surface":"C1","layer":0,"checks":["K02","K13","K42"]}`)

	// The ceiling: wool, clips and the first board are up, its perimeter is not sealed yet.
	site(Idris, `{"do":"install","surface":"C1","layer":1,"share":1}`,
		`{"do":"check","surface":"C1","layer":1,"check":"K16","result":"pass","measured":{"depth_mm":100},"evidence":3,"photos":["`+p+`"]}`)
	site(Pavo, `{"do":"install","surface":"C1","layer":2,"share":1}`)
	site(Pavo, `{"do":"install","surface":"C1","layer":3,"share":1}`)
	site(Idris, `{"do":"check","surface":"C1","layer":3,"check":"K19","result":"pass","measured":{"screw_mm":32,"count":140},"evidence":3,"photos":["`+p+`"]}`)
	site(Idris, `{"do":"ready","surface":"C1","layer":3,"cover_at":"2026-11-25T16:30:00Z"}`)
}

// Crowd records a second job that is hard to show: a name of sixty letters, a surface of twelve layers, one of none, and one on
// which two people disagree about everything.
func (w *World) Crowd() {
	w.t.Helper()
	var layers []string
	for i := range 12 {
		layers = append(layers, fmt.Sprintf(`{"kind":"board","thickness_mm":%d,"mass_kg_m2":%d}`, 10+i, 9+i))
	}
	w.ImportJSON(Crowded, []byte(`{"name":"The old rope works, second yard behind the chapel at Marlsea","site":"Marlsea","surfaces":[
		{"code":"W12","kind":"wall","width_m":6,"height_m":3,"existing":[{"kind":"masonry","thickness_mm":300,"mass_kg_m2":525,"material":"brick"}],"specified":[`+strings.Join(layers, ",")+`]},
		{"code":"B1","kind":"beam","length_m":4,"girth_m":1.1,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},
		{"code":"W13","kind":"wall","width_m":6,"height_m":3},
		{"code":"C9","kind":"ceiling","width_m":6,"height_m":3,"specified":[{"kind":"cavity","depth_mm":16,"frame":{"kind":"none","resilient":"bar","mass_kg_m2":1}},
			{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	for _, layer := range []string{"1", "2", "3", "4"} {
		w.Record(Idris, jobs.Site, Crowded, `{"do":"install","surface":"C9","layer":`+layer+`,"share":1}`)
	}
	for _, c := range w.JobAs(Crowded).Surface("C9").Checks {
		place := `"surface":"C9","check":"` + c.Rule.Code + `"`
		if c.Layer > 0 {
			place += fmt.Sprintf(`,"layer":%d`, c.Layer)
		}
		w.Record(Idris, jobs.Site, Crowded, `{"do":"check",`+place+`,"result":"pass","evidence":1}`)
		w.Record(Pavo, jobs.Site, Crowded, `{"do":"check",`+place+`,"result":"fail","evidence":1}`)
	}
}
