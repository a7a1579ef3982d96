package main

import (
	"encoding/json"
	"fmt"
	"io"
	"text/tabwriter"

	"tacet/acoustics"
	"tacet/testdata"
)

// calcCmd are the calculations: JSON on standard input, JSON on standard output; no store is touched.
type calcCmd struct {
	Rating    ratingCmd      `cmd:"" help:"Single number of a curve by ISO 717-1 or 717-2."`
	Buildup   buildupCmd     `cmd:"" help:"What a layered wall, ceiling or floor does in a laboratory."`
	Room      roomCmd        `cmd:"" help:"From laboratory values to the site."`
	Leak      leakCmd        `cmd:"" help:"What slits and holes right through a partition cost."`
	Fieldtest fieldtestCmd   `cmd:"" help:"Evaluate a field measurement by ISO 16283."`
	Takeoff   calcTakeoffCmd `cmd:"" help:"What to order for one surface, with weights, screw windows and load."`
	Wrap      wrapCmd        `cmd:"" help:"How fast a wrapped steel member or pipe stops ringing."`
	Validate  validateCmd    `cmd:"" help:"How near predictions come to measured build-ups, by family; published values beside the code."`
}

type (
	ratingCmd    struct{}
	buildupCmd   struct{}
	roomCmd      struct{}
	leakCmd      struct{}
	fieldtestCmd struct{}
	wrapCmd      struct{}
)

// Run rates the curve on standard input.
func (ratingCmd) Run(s stdio) error { return calculate(s, acoustics.RatingInput.Rate) }

// Run predicts the build-up on standard input.
func (buildupCmd) Run(s stdio) error { return calculate(s, acoustics.BuildUp.Predict) }

// Run converts the laboratory values on standard input.
func (roomCmd) Run(s stdio) error { return calculate(s, acoustics.RoomInput.Site) }

// Run adds the leak on standard input to its partition.
func (leakCmd) Run(s stdio) error { return calculate(s, acoustics.LeakInput.With) }

// Run evaluates the measurement on standard input.
func (fieldtestCmd) Run(s stdio) error { return calculate(s, acoustics.FieldTest.Evaluate) }

// Run calculates the member on standard input.
func (wrapCmd) Run(s stdio) error { return calculate(s, acoustics.WrapInput.Ring) }

// maxCalcBytes bounds what a calculation reads: a thousand times the largest sensible input.
const maxCalcBytes = 4 << 20

// calculate reads one value from standard input, calculates, and writes the result as one line of JSON.
func calculate[In, Out any](s stdio, f func(In) (Out, error)) error {
	data, err := io.ReadAll(io.LimitReader(s.In, maxCalcBytes+1))
	if err != nil {
		return fmt.Errorf("read standard input: %w", err)
	}
	if len(data) > maxCalcBytes {
		return &acoustics.InputError{Value: "larger than 4 MB", Hint: "give one calculation at a time"}
	}
	var in In
	if err := acoustics.Decode(data, &in); err != nil {
		return err
	}
	out, err := f(in)
	if err != nil {
		return err
	}
	return writeJSON(s.Out, out)
}

// writeJSON writes a value as one line.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("write the result: %w", err)
	}
	return nil
}

// validateCmd compares predictions with measured rows, and the code with published values.
type validateCmd struct {
	JSON bool `help:"Print JSON."`
}

// validation is what calc validate --json prints.
type validation struct {
	Families []acoustics.Accuracy `json:"families"`
	Rows     []acoustics.Specimen `json:"rows"`
	// PublishedValues counts the published check values, PublishedWrong those the code does not meet.
	PublishedValues int `json:"published_values"`
	PublishedWrong  int `json:"published_wrong"`
	// Published are the check values themselves, Patterns findings about differences between build-ups.
	Published []acoustics.Verified `json:"published"`
	// WithinU and Within2U of Counted rows lie no further from their prediction than once and twice the uncertainty it claims.
	WithinU  int                 `json:"rows_within_u"`
	Within2U int                 `json:"rows_within_2u"`
	Counted  int                 `json:"rows_counted"`
	Patterns []acoustics.Pattern `json:"patterns"`
}

// Run prints a table, or all rows as JSON.
func (c validateCmd) Run(s stdio) error {
	families, rows, err := acoustics.Validate(testdata.Files)
	if err != nil {
		return err
	}
	published, err := acoustics.Verify(testdata.Files)
	if err != nil {
		return err
	}
	patterns, err := acoustics.Patterns()
	if err != nil {
		return err
	}
	v := validation{Families: families, Rows: rows, PublishedValues: len(published), Published: published, Patterns: patterns}
	v.WithinU, v.Within2U, v.Counted = acoustics.Coverage(rows)
	for _, p := range published {
		if !p.OK {
			v.PublishedWrong++
		}
	}
	if c.JSON {
		return writeJSON(s.Out, v)
	}
	return v.print(s.Out)
}

// print writes the families as a table, what its columns mean, and the patterns.
func (v validation) print(out io.Writer) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "family\trows\tbias dB\tr.m.s. dB\tworst row\tits error dB\toctave rows\tr.m.s. 250-2000 Hz dB\tdoubtful\tr.m.s. without source dB\theld-out rows\ttheir bias dB\ttheir r.m.s. dB\t")
	for _, f := range v.Families {
		octaves, held := "-\t-", "-\t-\t-"
		if f.OctaveN > 0 {
			octaves = fmt.Sprintf("%d\t%.1f", f.OctaveN, f.OctaveRMSDB)
		}
		if f.HeldOutN > 0 {
			held = fmt.Sprintf("%d\t%+.1f\t%.1f", f.HeldOutN, f.HeldOutBiasDB, f.HeldOutRMSDB)
		}
		fmt.Fprintf(w, "%s\t%d\t%+.1f\t%.1f\t%s\t%+.0f\t%s\t%d\t%.1f\t%s\t\n", f.Family, f.N, f.BiasDB, f.RMSDB, f.WorstID, f.WorstDB, octaves, f.Doubtful, f.SourceOutRMSDB, held)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write the table: %w", err)
	}
	fmt.Fprintf(out, "\nAbove 0: predicted better than measured. R_w by octaves or STC as the source gives it; impact: IIC or L_n,w. Doubtful rows are not counted.\n"+
		"Without source: the shared constants chosen again on the rows of all other sources. Held-out rows are fitted to nothing; they were in sight when two constants were chosen (the loss of dry joints, the air between twin frames).\n"+
		"%d of %d rows lie within the standard uncertainty claimed, %d within twice it (normal law: 68 and 95 %%).\n"+
		"%d published values, %d not met; they, all rows and the octaves stand in --json.\n\n",
		v.WithinU, v.Counted, v.Within2U, v.PublishedValues, v.PublishedWrong)
	for _, p := range v.Patterns {
		answer := "as it should be"
		if !p.OK {
			answer = "NOT as it should be"
		}
		fmt.Fprintf(out, "%s: %s. Expected: %s.\n", p.Name, answer, p.Expected)
		for _, step := range p.Steps {
			fmt.Fprintf(out, "  %5.1f dB  %s\n", step.RwDB, step.What)
		}
	}
	return nil
}

// materialsCmd lists the generic materials and every default.
type materialsCmd struct {
	JSON bool `help:"Print JSON, with all defaults by kind."`
}

// Run prints a table, or everything as JSON.
func (c materialsCmd) Run(s stdio) error {
	if c.JSON {
		return writeJSON(s.Out, struct {
			Materials []acoustics.Material `json:"materials"`
			Defaults  acoustics.Defaults   `json:"defaults"`
		}{acoustics.Materials(), acoustics.AllDefaults()})
	}
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "id\tdensity kg/m³\tE GPa\tloss factor\tspread\tsource")
	for _, m := range acoustics.Materials() {
		fmt.Fprintf(w, "%s\t%g\t%g\t%g\t%s\t%s\n", m.ID, m.DensityKgM3, m.YoungsModulusGPa, m.LossFactor, m.Spread, m.Source)
	}
	fmt.Fprintln(w, "\nkind\tν\tloss factor\tmounted loss\tc_L by density\tsource")
	for _, d := range acoustics.AllDefaults().Kinds {
		fmt.Fprintf(w, "%s\t%g\t%g\t%g\t", d.Kind, d.Poisson, d.LossFactor, d.MountedLoss)
		for _, at := range d.WaveSpeed {
			fmt.Fprintf(w, "%g m/s at %g kg/m³ ", at.MS, at.DensityKgM3)
		}
		fmt.Fprintf(w, "\t%s\n", d.Source)
	}
	return w.Flush()
}
