package main

import (
	"encoding/json"
	"fmt"
	"io"
	"text/tabwriter"

	"tacet/acoustics"
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
