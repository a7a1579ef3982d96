package jobs

import (
	"maps"
	"slices"
	"strings"

	"tacet/acoustics"
)

// TakeOffRule is a figure that a take-off takes where nothing else is said. Every one may be changed by the firm, and for
// one take-off; a data sheet goes before all of them.
type TakeOffRule struct {
	Key    string  `json:"key"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Name   string  `json:"name"`
	Source string  `json:"source"`
	allow  acoustics.Range
}

// onePersonKg is what one person should not carry alone, and what is fixed overhead with a lifter.
const onePersonKg = 20

const (
	practice = "common practice, no source"
	ours     = "our own default"
)

var takeOffRules = []TakeOffRule{
	{"waste", 0.10, "", "waste of boards in rooms; 0.12 to 0.15 where they are small or angled, 0.15 to 0.20 on stairs and in attics", ours, acoustics.Range{Min: 0, Max: 1}},
	{"membrane_laps", 0.05, "", "laps and butts of a membrane", practice, acoustics.Range{Min: 0, Max: 1}},
	{"spare", 0.10, "", "spare screws, sealant, strip and tape", practice, acoustics.Range{Min: 0, Max: 1}},
	{"roll_width_m", 1.2, "m", "width of a roll of membrane", ours, acoustics.Range{Min: 0.1, Max: 10, Unit: "m"}},
	{"roll_length_m", 5, "m", "length of a roll of membrane", ours, acoustics.Range{Min: 0.1, Max: 100, Unit: "m"}},
	{"wool_pack_m3", 0.432, "m³", "wool in a pack: 1.2 x 0.6 x 0.6 m", ours, acoustics.Range{Min: 0.01, Max: 10, Unit: "m³"}},
	{"timber_mm", 50, "mm", "width of a joist or stud that the wool goes round", practice, acoustics.Range{Min: 0, Max: 400, Unit: "mm"}},
	{"spacing_mm", 600, "mm", "centres of studs and channels", practice, acoustics.Range{Min: 100, Max: 2000, Unit: "mm"}},
	{"clip_pitch_mm", 1200, "mm", "farthest distance of clips along a channel; the data sheet governs", "from memory, fair", acoustics.Range{Min: 100, Max: 3000, Unit: "mm"}},
	{"ceiling_field_mm", 230, "mm", "screw centres overhead", "standard specification clauses for plasterboard", acoustics.Range{Min: 50, Max: 1000, Unit: "mm"}},
	{"ceiling_edge_mm", 150, "mm", "screw centres at board ends overhead", "standard specification clauses for plasterboard", acoustics.Range{Min: 50, Max: 1000, Unit: "mm"}},
	{"wall_screw_mm", 300, "mm", "screw centres on walls", "standard specification clauses for plasterboard", acoustics.Range{Min: 50, Max: 1000, Unit: "mm"}},
	{"seal_gap_mm", 5, "mm", "gap round each layer that the sealant fills", practice, acoustics.Range{Min: 0, Max: 50, Unit: "mm"}},
	{"tube_ml", 900, "ml", "sealant in a tube", practice, acoustics.Range{Min: 50, Max: 5000, Unit: "ml"}},
	{"one_person_kg", onePersonKg, "kg", "from here two people or an aid, overhead a lifter", ours, acoustics.Range{Min: 1, Max: 100, Unit: "kg"}},
	{"stack_kg_m2", 250, "kg/m²", "heaviest stack of boards on a floor; on an old floor ask first", "one floor system's manual, second hand", acoustics.Range{Min: 1, Max: 5000, Unit: "kg/m²"}},
	{"stack_mm", 300, "mm", "highest stack of boards", "one floor system's manual, second hand", acoustics.Range{Min: 1, Max: 3000, Unit: "mm"}},
}

// TakeOffRules lists the figures with their source.
func TakeOffRules() []TakeOffRule { return slices.Clone(takeOffRules) }

// figures are changes to the rules, by key.
type figures map[string]float64

func (f figures) valid(path string) error {
	for _, key := range slices.Sorted(maps.Keys(f)) {
		i := slices.IndexFunc(takeOffRules, func(r TakeOffRule) bool { return r.Key == key })
		if i < 0 {
			keys := make([]string, len(takeOffRules))
			for n, r := range takeOffRules {
				keys[n] = r.Key
			}
			return &InputError{Field: path + "." + key, Value: "unknown", Range: "one of " + strings.Join(keys, ", ")}
		}
		if err := takeOffRules[i].allow.Check(path+"."+key, f[key]); err != nil {
			return err
		}
	}
	return nil
}

// rulesWith lists the rules with the changes in, each change marked as such.
func rulesWith(source string, changes figures) []TakeOffRule {
	return mergeRules(takeOffRules, source, changes)
}

func mergeRules(rules []TakeOffRule, source string, changes figures) []TakeOffRule {
	rules = slices.Clone(rules)
	for i := range rules {
		if v, ok := changes[rules[i].Key]; ok {
			rules[i].Value, rules[i].Source = v, source
		}
	}
	return rules
}

var _ = registerKind[TakeOffEntry]("takeoff_rules", 1)

// TakeOffEntry is how the firm takes off, in the company's own job: what its suppliers' rolls and packs hold, what it keeps
// in stock. What is left out keeps its default.
type TakeOffEntry struct {
	Common
	ofFirm
	Rules         map[string]float64 `json:"rules,omitempty"`
	Sheet         *Sheet             `json:"sheet,omitempty"`
	StockScrewsMM []float64          `json:"stock_screws_mm,omitempty"`
	Source        string             `json:"source,omitempty"`
}

// Valid checks every figure.
func (d *TakeOffEntry) Valid() error {
	if err := figures(d.Rules).valid("rules"); err != nil {
		return err
	}
	if err := validSheet(d.Sheet); err != nil {
		return err
	}
	if err := validStock(d.StockScrewsMM); err != nil {
		return err
	}
	if err := text("source", d.Source, 0, 300); err != nil {
		return err
	}
	return d.valid()
}

// names replaces the rules before.
func (d *TakeOffEntry) names(j *Job) []Ref {
	return inForce(j, func(*TakeOffEntry) bool { return true })
}

func (d *TakeOffEntry) apply(j *Job, r *Record) { j.put(r) }

func (d *TakeOffEntry) says(*Job, *Record) string {
	return "how the firm takes off: " + itoa(len(d.Rules)) + " figures changed"
}

func validSheet(s *Sheet) error {
	if s == nil {
		return nil
	}
	size := acoustics.Range{Min: 100, Max: 10000, Unit: "mm"}
	if err := size.Check("sheet.width_mm", s.WidthMM); err != nil {
		return err
	}
	return size.Check("sheet.length_mm", s.LengthMM)
}

func validStock(mm []float64) error {
	if len(mm) > 50 {
		return &InputError{Field: "stock_screws_mm", Value: itoa(len(mm)), Range: "at most 50"}
	}
	for i, v := range mm {
		if err := (acoustics.Range{Min: 5, Max: 500, Unit: "mm"}).Check("stock_screws_mm["+itoa(i)+"]", v); err != nil {
			return err
		}
	}
	return nil
}
