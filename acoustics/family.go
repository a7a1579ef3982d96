package acoustics

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"slices"
)

// The families of build-ups that measured rows stand behind; the names are those of testdata/measured.
const (
	familySingle  = "light_single"
	familyHeavy   = "heavy"
	familyDouble  = "double"
	familyGlazing = "glazing"
	familyLining  = "lining"
	familyFloor   = "floor"
	familyOther   = "other"
	// Impact sound of heavy slabs follows ISO 12354-2; that of timber floors is an estimate with its own, wider error.
	familyImpactHeavy  = "impact_heavy"
	familyImpactTimber = "impact_timber"
)

// accuracyJSON is what [Validate] finds, written by a test with -update, never by hand.
//
//go:embed accuracy.json
var accuracyJSON []byte

var embeddedAccuracy = readAccuracy(accuracyJSON)

func readAccuracy(data []byte) []Accuracy {
	var list []Accuracy
	if err := json.Unmarshal(data, &list); err != nil {
		panic("accuracy.json: " + err.Error()) // part of the program: every test finds it
	}
	return list
}

// accuracyOf finds a family; the zero Accuracy has no rows.
func accuracyOf(family string) Accuracy {
	for _, a := range embeddedAccuracy {
		if a.Family == family {
			return a
		}
	}
	return Accuracy{}
}

func (a Accuracy) impact() bool {
	return a.Family == familyImpactHeavy || a.Family == familyImpactTimber
}

// family names the family of an assembly.
func (a *assembly) family() string {
	heavy, glass, joists := 0, 0, false
	for i := range a.leaves {
		if a.leaves[i].heavy {
			heavy++
		}
		if a.leaves[i].allOf("glass") {
			glass++
		}
	}
	mats := 0
	for _, s := range a.springs {
		if s.mat > 0 {
			mats++
		}
		for _, f := range s.frames {
			joists = joists || f.Kind == "joist"
		}
	}
	n := len(a.leaves)
	switch {
	case mats > 0:
		return familyOther
	case n == 1 && heavy == 1:
		return familyHeavy
	case n == 1:
		return familySingle
	case n == 2 && joists:
		return familyFloor
	case heavy == 1 && n <= 3:
		return familyLining
	case n == 2 && glass == 2:
		return familyGlazing
	case n == 2 && heavy == 0:
		return familyDouble
	}
	return familyOther
}

func (l *leaf) allOf(kind string) bool {
	for _, p := range l.plates {
		for _, q := range p.plies {
			if q.kind != kind {
				return false
			}
		}
	}
	return len(l.plates) > 0
}

// Spread that judgement adds, in dB, as independent standard deviations. None has a source: they say "we don't know" in numbers.
const (
	spreadUnmeasured = 2.0 // a material or fixing no measured row has
	spreadOther      = 2.0 // a build-up of no measured family
	spreadTimber     = 5.0 // impact sound of timber floors, whose joints and fixings make like floors differ by more than 10 dB
	liningsDiffer    = 3.0 // how far stack and simplified method may lie apart before half of it counts
	spreadDefect     = 2.0 // slits, whose real size is seldom known; defects of unknown effect; screws that bridge, for those at least
)

// uncertainty returns the standard uncertainty u (k = 1) of R_w, whether measured rows of the family stand behind it, and the reasons.
//
// The model error is the root-mean-square error over the measured rows of the family: it holds the spread of materials, laboratories and
// workmanship of those rows. A family of few rows says little by itself, so it is pooled with all others as if [pooledRows] of theirs were
// its own. What no row has is added as above.
func (b BuildUp) uncertainty(a *assembly, rw int) (u float64, validated bool, notes []string) {
	family := a.family()
	acc := accuracyOf(family)
	sum := pooledError(acc)
	validated = acc.N > 0
	if !validated {
		worst := 0.0
		for _, other := range embeddedAccuracy {
			if !other.impact() {
				worst = max(worst, other.RMSDB)
			}
		}
		sum = worst*worst + spreadOther*spreadOther
		notes = append(notes, "not validated against measurement: no measured build-up of this kind; the uncertainty is that of the least certain kind, widened")
	}
	if simple, ok := a.simplifiedLining(); ok && math.Abs(float64(rw)-simple) >= liningsDiffer {
		half := (float64(rw) - simple) / 2
		sum += half * half
		notes = append(notes, fmt.Sprintf("the simplified method of ISO 12354-1 Annex D gives R_w %.0f dB for this lining, %+.0f dB against the stack; "+
			"the uncertainty is widened to hold both", simple, simple-float64(rw)))
	}
	for _, reason := range b.unmeasured() {
		validated = false
		sum += spreadUnmeasured * spreadUnmeasured
		notes = append(notes, "not validated against measurement: "+reason)
	}
	if len(b.Gaps) > 0 {
		sum += spreadDefect * spreadDefect
		notes = append(notes, "slits are calculated as straight and clean; the uncertainty is widened")
	}
	for _, what := range b.Unknown {
		sum += spreadDefect * spreadDefect
		notes = append(notes, what+": the effect is unknown, no published value stands behind one; the uncertainty is widened")
	}
	if bridged(b.PointBridges) {
		loss, spread := a.lossByPoints(rw)
		sum += spread * spread
		notes = append(notes, fmt.Sprintf("points that bridge a cavity are calculated as rigid, which is the most they can do: R_w %.0f dB less. What such screws really do is unknown, "+
			"no published value stands behind it; the uncertainty holds %.1f dB for it (root of squares)", loss, spread))
	}
	if acc.N > 0 {
		notes = append(notes, fmt.Sprintf("uncertainty from %d measured build-ups of the family %s (bias %+.1f dB, r.m.s. error %.1f dB)", acc.N, family, acc.BiasDB, acc.RMSDB))
	}
	return tenth(math.Sqrt(sum)), validated, notes
}

// pooledRows is how many rows of all families weigh on the error of one.
const pooledRows = 8

// pooledError is the mean square error of a family, pulled towards that of all airborne families where it has few rows.
func pooledError(acc Accuracy) float64 {
	var sum, n float64
	for _, a := range embeddedAccuracy {
		if !a.impact() {
			sum += float64(a.N) * a.RMSDB * a.RMSDB
			n += float64(a.N)
		}
	}
	if n == 0 {
		return acc.RMSDB * acc.RMSDB
	}
	return (float64(acc.N)*acc.RMSDB*acc.RMSDB + pooledRows*sum/n) / (float64(acc.N) + pooledRows)
}

// lossByPoints is what the points that bridge cavities take from R_w, in dB, and the standard
// uncertainty that stands for not knowing it: half of the loss, for it may be anything up to that, and what any defect of
// unknown effect has at least.
func (a *assembly) lossByPoints(rw int) (loss, spread float64) {
	clean := *a
	clean.springs = slices.Clone(a.springs)
	for i := range clean.springs {
		clean.springs[i].points = nil
	}
	if r, err := RateAirborne(reduction(clean.transmission())); err == nil {
		loss = float64(r.Value - rw)
	}
	return loss, max(spreadDefect, loss/2)
}

func bridged(points []PointBridge) bool {
	for _, p := range points {
		if p.N > 0 {
			return true
		}
	}
	return false
}

// denseBoard is the density in kg/m³ from which a board is a dense acoustic board, which no measured row has.
const denseBoard = 820

// unmeasured lists what the build-up has that no measured row has.
func (b BuildUp) unmeasured() []string {
	var dense, membrane, clip bool
	for i, l := range b.Layers {
		switch e := plain(l.Element).(type) {
		case Board:
			dense = dense || e.Kind() == "board" && e.ply().density() >= denseBoard
		case Membrane:
			membrane = membrane || !b.laminate(i)
		case Cavity:
			clip = clip || e.Frame != nil && e.Frame.Resilient == "clip"
		}
	}
	var out []string
	if dense {
		out = append(out, "dense acoustic board has no measured specimen")
	}
	if membrane {
		out = append(out, "a viscoelastic membrane has no measured specimen")
	}
	if clip {
		out = append(out, "resilient clips have no measured specimen")
	}
	return out
}

// laminate reports whether layer i lies between two panes of glass: laminated glass has measured rows.
func (b BuildUp) laminate(i int) bool {
	glass := func(j int) bool {
		if j < 0 || j >= len(b.Layers) {
			return false
		}
		e, ok := plain(b.Layers[j].Element).(Board)
		return ok && e.Kind() == "glass"
	}
	return glass(i-1) && glass(i+1)
}
