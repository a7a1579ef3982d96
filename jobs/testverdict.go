package jobs

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// TestVerdict is a sound test beside its limit and its prediction, all in the same quantity and never mixed.
type TestVerdict struct {
	Record     *Record
	Test       *SoundTest
	MeasuredDB float64
	Limit      *Target // of the job, in the quantity of the test; nil where there is none
	// MarginDB is how much better than the limit: below 0 the test fails, by however little.
	MarginDB *float64
	Passes   *bool
	// Counts is false where another test between the same rooms came out worse: the worse one counts until it is superseded.
	Counts bool
	// PredictedDB and its standard uncertainty UDB are of the surface Predicted; Frozen names the entry of the quote that
	// froze them, empty where nothing was quoted and they are what is specified now.
	PredictedDB, UDB  *float64
	Predicted, Frozen string
	// PutRight tells that what made it fail was put right since; only another test shows whether that was enough.
	PutRight *Record
	Suspects []Suspect // after a fail, in the order in which to look
	Notes    []string
}

// Suspect is what may be at fault, from this job's own record.
type Suspect struct {
	On    On
	What  string // K23 Perimeter sealed
	Why   string
	Entry string // id of the record behind it, empty where nothing was recorded
	order [2]int
}

// TestFailAdvice is what to do before anything is taken apart; common practice, no source.
const TestFailAdvice = "Listen first, then look with an endoscope. Choose the smallest remedy that can be taken back, and test again."

// TestVerdicts judges every sound test in force, in the order in which they were recorded.
func (j *Job) TestVerdicts() []TestVerdict {
	var out []TestVerdict
	for _, r := range j.Of("sound_test") {
		d := r.What.(*SoundTest)
		v := TestVerdict{Record: r, Test: d, MeasuredDB: d.MeasuredDB(), Counts: true, PutRight: j.CuredBy(r)}
		j.judgeTest(&v)
		v.Notes = append(v.Notes, j.replacedTests(r)...)
		j.predictTest(&v)
		out = append(out, v)
	}
	for i := range out {
		for k := range out {
			if i != k && out[i].Test.Repeats(out[k].Test) && worse(out[k], out[i]) {
				out[i].Counts = false
				out[i].Notes = append(out[i].Notes, "another test between the same rooms came out worse and counts, until a new test replaces it with the reason")
			}
		}
	}
	return out
}

// Fails tells whether it is beyond its limit, by however little.
func (v TestVerdict) Fails() bool { return v.Passes != nil && !*v.Passes }

// FailedTests are the tests in force that fail, in the order in which they were recorded: put right or not, each stays
// until a new test replaces it.
func (j *Job) FailedTests() []TestVerdict {
	return slices.DeleteFunc(j.TestVerdicts(), func(v TestVerdict) bool { return !v.Fails() })
}

// FailedTestsOn are the failed tests that are the newest word on a surface; of the whole job where none is named. A later pass in the same
// quantity on the same surfaces overtakes one between other rooms, such as that of before the work; of two between the same rooms the worse counts.
func (j *Job) FailedTestsOn(surface string) []TestVerdict {
	names := func(v TestVerdict, code string) bool {
		return slices.ContainsFunc(v.Test.Surfaces, func(c string) bool { return compareCodes(c, code) == 0 })
	}
	var failed []TestVerdict
	all := j.TestVerdicts()
	for i, v := range all {
		overtaken := slices.ContainsFunc(all[i+1:], func(later TestVerdict) bool {
			return later.Test.Quantity == v.Test.Quantity && later.Passes != nil && *later.Passes && !later.Test.Repeats(v.Test) && len(v.Test.Surfaces) > 0 &&
				!slices.ContainsFunc(v.Test.Surfaces, func(code string) bool { return !names(later, code) })
		})
		if v.Fails() && !overtaken && (surface == "" || names(v, surface)) {
			failed = append(failed, v)
		}
	}
	return failed
}

// replacedTests says of a test which earlier ones it took out of force, and why.
func (j *Job) replacedTests(r *Record) []string {
	var notes []string
	for _, h := range r.Refers(Over) {
		before := j.byHash[h]
		if before == nil || j.InForce(before) {
			continue
		}
		if d, ok := before.What.(*SoundTest); ok {
			says := "replaces the test of " + before.DoneAt().Format("2 January 2006") + " with " + trim(d.MeasuredDB()) + " dB"
			if note := r.Common().Note; note != "" {
				says += ": " + note
			}
			notes = append(notes, says)
		}
	}
	return notes
}

func (j *Job) judgeTest(v *TestVerdict) {
	d := v.Test
	if d.BandsDB.Len() == 0 && d.FieldTest == nil {
		v.Notes = append(v.Notes, "only the single number was entered, not the bands")
	} else if v.MeasuredDB != value(d.ValueDB) {
		v.Notes = append(v.Notes, fmt.Sprintf("typed as %s dB, the bands give %s dB: the worse one counts", trim(value(d.ValueDB)), trim(v.MeasuredDB)))
	}
	if d.FieldTest != nil {
		if r, err := d.FieldTest.Evaluate(); err == nil {
			v.Notes = append(v.Notes, r.Notes...)
		}
	}
	if v.Limit = j.LimitOf(d.Quantity, d.Surfaces); v.Limit == nil {
		v.Notes = append(v.Notes, "the job has no limit in this quantity")
		return
	}
	margin := round(v.MeasuredDB - v.Limit.ValueDB)
	if v.Limit.Impact() {
		margin = round(-margin)
	}
	passes := margin >= 0
	v.MarginDB, v.Passes = &margin, &passes
	if v.Fails() {
		v.Suspects = j.suspects(d.Surfaces)
	}
}

// predictTest puts the prediction beside the test: what the last quote froze, else what is specified now, of the first
// surface that has a value in the quantity of the test.
func (j *Job) predictTest(v *TestVerdict) {
	for _, c := range v.Test.Surfaces {
		s := j.Surface(c)
		if s == nil {
			continue
		}
		if f := j.FrozenFor(s); f != nil {
			p := map[string]*float64{DnTwCtr: f.DnTwCtrDB, DnTw: f.DnTwDB, LnTw: f.LnTwDB, Rw: f.RwDB}[v.Test.Quantity]
			if p != nil {
				v.PredictedDB, v.Predicted, v.Frozen, v.UDB = p, s.Code, f.Quote, f.USiteDB
				if v.Test.Quantity == Rw {
					v.UDB = f.UDB
				}
				return
			}
		}
	}
	for _, c := range v.Test.Surfaces {
		s := j.Surface(c)
		if s == nil {
			continue
		}
		f := j.forecast(s, asSpecified)
		p := map[string]*float64{DnTwCtr: f.DnTwCtrDB, DnTw: f.DnTwDB, LnTw: f.LnTwDB, Rw: whole(f.RwDB)}[v.Test.Quantity]
		if p != nil {
			v.PredictedDB, v.Predicted, v.UDB = p, s.Code, f.USiteDB
			if v.Test.Quantity == Rw {
				v.UDB = f.UDB
			}
			return
		}
	}
	v.Notes = append(v.Notes, "there is no prediction in this quantity to compare with")
}

// Repeats tells whether two tests measured the same quantity between the same rooms.
func (d *SoundTest) Repeats(b *SoundTest) bool {
	same := func(x, y string) bool { return strings.EqualFold(strings.TrimSpace(x), strings.TrimSpace(y)) }
	return d.Quantity == b.Quantity && d.Direction == b.Direction && same(d.SourceRoom, b.SourceRoom) && same(d.ReceivingRoom, b.ReceivingRoom)
}

// worse tells whether a came out worse than b; of two equal ones the earlier counts.
func worse(a, b TestVerdict) bool {
	d := cmp.Compare(a.MeasuredDB, b.MeasuredDB)
	if a.Test.Quantity == LnTw {
		d = -d
	}
	return d < 0 || d == 0 && a.Record.pos < b.Record.pos
}

// How strongly a record speaks against a check, the strongest first.
const (
	suspectFailed = iota
	suspectNotAccepted
	suspectUnseen
	suspectWeak
	suspectOther
)

// suspects lists what the record of the surfaces leaves open, the checks that most often explain a failed test first.
func (j *Job) suspects(codes []string) []Suspect {
	var list []Suspect
	for _, s := range j.partitionSurfaces(codes) {
		for _, c := range s.Checks {
			if strength, why, entry := j.suspicion(s, c); why != "" {
				first := c.Rule.Suspect
				if first == 0 {
					first = 100
				}
				list = append(list, Suspect{On: On{Surface: s.Code, Layer: c.Layer, Check: c.Rule.Code}, What: c.Rule.Code + " " + c.Rule.Title, Why: why, Entry: entry, order: [2]int{strength, first}})
			}
		}
		for _, l := range s.Layers {
			for _, r := range j.heads(s.of("substitute", l.N), j.now()) {
				if d := r.What.(*Substitute); d.State == AlreadyFixed {
					list = append(list, Suspect{On: On{Surface: s.Code, Layer: l.N}, What: "Substitution", Why: NameOf(*d.LayerNew) + " was fixed before anybody agreed", Entry: r.ID, order: [2]int{suspectWeak, 50}})
				}
			}
		}
		for _, f := range j.FlankingList(s) {
			if f.State == FlankDeclined || f.State == FlankAccepted || f.State == FlankLeft || f.open() {
				list = append(list, Suspect{On: On{Surface: s.Code}, What: "Flanking: " + f.Name, Why: words(string(f.State)), order: [2]int{suspectOther, 10}})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Suspect) int {
		return cmp.Or(cmp.Compare(a.order[0], b.order[0]), cmp.Compare(a.order[1], b.order[1]))
	})
	return list
}

// partitionSurfaces are the surfaces tested, and those on the same structures.
func (j *Job) partitionSurfaces(codes []string) []*Surface {
	var list []*Surface
	add := func(s *Surface) {
		if s != nil && !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	for _, c := range codes {
		s := j.Surface(c)
		add(s)
		if s == nil {
			continue
		}
		if st := j.Structure(s.Structure); st != nil {
			for _, o := range j.On(st) {
				add(o)
			}
		}
	}
	return list
}

// suspicion says what the record of a check leaves open; empty where nothing speaks against it, or it is no matter of
// sound.
func (j *Job) suspicion(s *Surface, c *Check) (strength int, why, entry string) {
	if c.Rule.Defect != nil && c.Rule.Defect(Fault{Surface: s, Layer: s.Layer(c.Layer), Check: c}).Silent {
		return 0, "", ""
	}
	weighty := c.Rule.Stop || c.Rule.Suspect > 0
	if n := len(c.Heads); n > 0 {
		entry = c.Heads[n-1].ID
	}
	unseen := c.Layer > 0 && s.Layer(c.Layer).CoveredUnseen && c.Rule.Stop
	switch c.State {
	case CheckFailed:
		return suspectFailed, "failed and not put right", entry
	case CheckDisputed:
		return suspectFailed, "disputed: one found it right, another did not", entry
	case CheckPutRight:
		for _, n := range j.NonConformances() {
			if n.On == c.Heads[0].On && n.State == NCPutRight {
				return suspectNotAccepted, "put right, but nobody else has accepted it", n.PutRight.ID
			}
		}
		return 0, "", ""
	case CheckCouldNotSee:
		return suspectUnseen, "could not be seen", entry
	case CheckOpen:
		if weighty && inPlace(s, c.Layer) {
			if c.Released {
				return suspectUnseen, "released without an answer", ""
			}
			return suspectUnseen, map[bool]string{true: "covered before anybody looked", false: "nobody answered"}[unseen], ""
		}
	case CheckPassed:
		if weighty && c.Evidence < 3 {
			return suspectWeak, "passed with evidence of strength " + itoa(c.Evidence) + " of 5", entry
		}
	}
	return 0, "", ""
}
