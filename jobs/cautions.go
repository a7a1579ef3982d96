package jobs

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"time"

	"tacet/acoustics"
)

// When the questions are asked. Our own defaults; none of them says that less is safe.
const (
	// askLoadKNM2 is the added load on a suspended floor or ceiling from which an engineer is asked in any case.
	askLoadKNM2 = 0.25
	// asbestosUntil is the year up to which asbestos may be in a British building. From guidance, second hand.
	asbestosUntil = 2000
)

// LevelOfLoadRange is what a load that was answered for may be.
var LevelOfLoadRange = acoustics.Range{Min: 0, Max: 1000, Unit: "kN/m²"}

// CautionState is a question where it arises, with the answer if there is one.
type CautionState struct {
	Code      string `json:"code"`
	Asks      string `json:"asks"`
	Who       string `json:"who"` // must decide
	Why       string `json:"why"` // it is asked here
	Surface   string `json:"surface"`
	Structure string `json:"structure"`
	Open      bool   `json:"open"`
	Answer    string `json:"answer"`
	DecidedBy string `json:"decided_by"`
	At        string `json:"at"`
	Entry     string `json:"entry"`
	// Again says why an answer that was given does not do any more.
	Again string `json:"again"`
}

// Cautions lists the questions that a surface raises, each open until an entry answers it by name. An answer for the job
// or for the surface's structure answers for the surface too.
func (j *Job) Cautions(s *Surface) []CautionState {
	out := []CautionState{}
	for _, q := range cautionQuestions {
		why := j.asks(s, q.Code)
		if why == "" {
			continue
		}
		c := CautionState{Code: q.Code, Asks: q.Asks, Who: q.Who, Why: why, Surface: s.Code, Structure: s.Structure, Open: true}
		if r := j.cautionAnswer(s, q.Code); r != nil {
			d := r.What.(*Caution)
			c.Answer, c.DecidedBy, c.At, c.Entry, c.Open = d.Answer, d.DecidedBy, r.DoneAt().Format(time.RFC3339), r.ID, false
			if now := j.loadAsked(s); q.Code == CautionLoad && d.Load != nil && now > *d.Load+0.005 {
				c.Open = true
				c.Again = fmt.Sprintf("answered for %.2f kN/m², the load is %.2f kN/m² now", *d.Load, now)
			}
		}
		out = append(out, c)
	}
	return out
}

// OpenCautions lists the questions of the whole job that nobody has answered.
func (j *Job) OpenCautions() []CautionState {
	out := []CautionState{}
	for _, s := range j.Surfaces {
		for _, c := range j.Cautions(s) {
			if c.Open {
				out = append(out, c)
			}
		}
	}
	return out
}

// cautionAnswer is the last answer in force that is meant for the surface.
func (j *Job) cautionAnswer(s *Surface, code string) *Record {
	for _, r := range slices.Backward(j.kinds["caution"]) {
		d, ok := r.What.(*Caution)
		here := ok && d.Code == code && (d.Surface == "" || compareCodes(d.Surface, s.Code) == 0) && (d.Structure == "" || d.Structure == s.Structure)
		if here && j.InForce(r) {
			return r
		}
	}
	return nil
}

// loadAsked is the load that the question of load is about: what the whole structure carries more than before.
func (j *Job) loadAsked(s *Surface) float64 {
	if st := j.Structure(s.Structure); st != nil {
		return j.StructureLoad(st)
	}
	return j.AddedLoad(s)
}

// asks says why a question arises on a surface; empty where it does not.
func (j *Job) asks(s *Surface, code string) string {
	switch code {
	case CautionLoad:
		return j.asksLoad(s)
	case CautionFire:
		return j.asksFire(s)
	case CautionAsbestos:
		year, known := j.BuiltYear()
		if !known {
			return "the year of building is not recorded"
		}
		if year < asbestosUntil {
			return fmt.Sprintf("the building is from %d", year)
		}
	case CautionElectrics:
		if j.hasService(s) {
			return "services were found on this surface"
		}
		for _, l := range s.Layers {
			if isWool(s, l) {
				return "wool is laid in: cables in it carry less"
			}
		}
	case CautionVentilation:
		if s.isLining() && !isFloor(s) {
			return "the lining closes gaps that let air through"
		}
	case CautionHandling:
		if !s.Kind.Overhead() {
			return ""
		}
		for _, l := range s.Layers {
			if kg := defaultSheet.AreaM2() * l.Now.MassKgM2(); isBoard(l) && kg > onePersonKg {
				return fmt.Sprintf("layer %d is fixed overhead and a sheet of %s x %s mm weighs %.0f kg", l.N, trim(defaultSheet.WidthMM), trim(defaultSheet.LengthMM), kg)
			}
		}
	}
	return ""
}

// asksLoad asks of everything that hangs on or lies on a suspended structure, from a small load on; and wherever a limit
// was agreed, because somebody had reason to agree one.
func (j *Job) asksLoad(s *Surface) string {
	suspended := isFloor(s) || s.Kind.Overhead()
	load := j.loadAsked(s)
	st := j.Structure(s.Structure)
	if suspended && load > askLoadKNM2 {
		on := ""
		if st != nil {
			on = " on " + st.Code
		}
		return fmt.Sprintf("%.2f kN/m² are added%s, more than %.2f kN/m² on a suspended floor or ceiling", load, on, askLoadKNM2)
	}
	if load > 0 && (s.LoadLimit != nil || st != nil && st.LoadLimit != nil) {
		return fmt.Sprintf("%.2f kN/m² are added and a limit was agreed", load)
	}
	for _, f := range j.AssumptionsOf(s) {
		if load > 0 && suspended && (f.Category == "load" || f.Category == "structure") {
			return "what carries the load was not seen: " + f.Says()
		}
	}
	return ""
}

// asksFire asks wherever the surface may separate: everywhere but on a surface whose job has targets for inner walls only.
func (j *Job) asksFire(s *Surface) string {
	if len(s.Specified) == 0 {
		return ""
	}
	if s.Kind.Along() {
		return "what runs inside passes from one part of the building to another"
	}
	for _, t := range j.Targets {
		if t.Quantity != Rw {
			return "the surface separates rooms that have a target between them"
		}
	}
	if len(j.Targets) == 0 {
		return "nobody has recorded whether the surface separates dwellings"
	}
	return ""
}

func (j *Job) hasService(s *Surface) bool {
	for _, r := range s.of("survey", 0) {
		if d, ok := r.What.(*Survey); ok && d.Category == FindingService && j.InForce(r) {
			return true
		}
	}
	return false
}

// number3 writes a number to three decimals, as it goes into a record.
func number3(v float64) json.Number {
	return json.Number(trim(round3(v)))
}

func round3(v float64) float64 {
	f, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 3, 64), 64)
	if err != nil {
		return v
	}
	return f
}
