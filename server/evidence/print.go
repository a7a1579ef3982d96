package evidence

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// Print writes the evidence as text, the sums first. The single measured rows stand only in the JSON.
func (e Evidence) Print(out io.Writer) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "published values\tn\tnot met\tthe first source")
	for _, p := range e.Published {
		fmt.Fprintf(w, "%s\t%d\t%d\t%s\n", p.What, len(p.Values), p.NotMet(), p.Values[0].Source)
	}
	fmt.Fprintf(w, "all\t%d\t%d\n\n", len(e.Values()), e.NotMet())
	fmt.Fprintln(w, "measured build-ups\trows\tmean error dB\tr.m.s. dB\toctave rows\ttheir r.m.s. dB\trows held out\ttheir mean error dB\ttheir r.m.s. dB\tthe worst")
	for _, f := range e.Families {
		fmt.Fprintf(w, "%s\t%d\t%+.1f\t%.1f\t%d\t%s\t%d\t%s\t%s\t%s %+.0f\n", f.Family, f.N, f.BiasDB, f.RMSDB,
			f.OctaveN, of(f.OctaveN, "%.1f", f.OctaveRMSDB), f.HeldOutN, of(f.HeldOutN, "%+.1f", f.HeldOutBiasDB), of(f.HeldOutN, "%.1f", f.HeldOutRMSDB), f.WorstID, f.WorstDB)
	}
	fmt.Fprintf(w, "%d of %d rows lie within the standard uncertainty claimed, %d within twice it\n\n", e.WithinU, e.Counted, e.Within2U)
	fmt.Fprintln(w, "differences between build-ups\tas expected\texpected")
	for _, p := range e.Patterns {
		fmt.Fprintf(w, "%s\t%s\t%s\n", p.Name, map[bool]string{true: "yes", false: "NO"}[p.OK], p.Expected)
	}
	fmt.Fprintln(w)
	fmt.Fprintln(w, "run\tstep\tresult\twhen\tcommit\tseconds\tfound")
	for _, r := range e.Runs {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%.8s\t%d\t%s\n", r.Kind, r.Step, r.Result, r.Date, r.Commit, r.Seconds, oneLine(r.Says))
		for _, c := range r.Counts {
			fmt.Fprintf(w, "\t\t\t\t\t\t%s: %s\n", c.Test, oneLine(c.Says))
		}
	}
	fmt.Fprintln(w, "\npublished value\tpublished\tcalculated\ttolerance\tmet\tsource")
	for _, v := range e.Values() {
		fmt.Fprintf(w, "%s: %s %s\t%.5g\t%.5g\t%.5g\t%s\t%s\n", v.What, v.Name, v.Key, v.Expected, v.Got, v.Tolerance, map[bool]string{true: "yes", false: "NO"}[v.OK], v.Source)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write the evidence: %w", err)
	}
	return nil
}

// of is a figure over n rows; over none there is no error, not an error of 0 dB.
func of(n int, format string, value float64) string {
	if n == 0 {
		return "-"
	}
	return fmt.Sprintf(format, value)
}

// oneLine takes out the columns of its own that a benchmark's line has.
func oneLine(says string) string { return strings.Join(strings.Fields(says), " ") }
