package acoustics

import (
	"encoding/csv"
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
)

// Verified is one published value beside what the code makes of the same input.
type Verified struct {
	// Name of the row, What is calculated, Key names the value among those of the row.
	Name string `json:"name"`
	What string `json:"what"`
	Key  string `json:"key"`
	// Expected and Got in the unit the row's source uses; OK when they differ by no more than Tolerance.
	Expected  float64 `json:"expected"`
	Got       float64 `json:"got"`
	Tolerance float64 `json:"tolerance"`
	OK        bool    `json:"ok"`
	// Source says where the expected value stands.
	Source string `json:"source"`
}

// Arguments are the numbers of one row by name.
type Arguments map[string][]float64

func (a Arguments) one(key string) float64 {
	if len(a[key]) == 0 {
		return math.NaN()
	}
	return a[key][0]
}

// or is one value, or the given one where the row leaves it out.
func (a Arguments) or(key string, otherwise float64) float64 {
	if len(a[key]) == 0 {
		return otherwise
	}
	return a[key][0]
}

func (a Arguments) air() Air {
	return Air{SoundSpeed: a.or("c", StandardAir.SoundSpeed), Density: a.or("rho0", StandardAir.Density)}
}

// Verify calculates every row of published/*.csv. The columns are name, what, input, expected, tolerance, source; input and expected are
// lists such as f=500 r=10000, or values=20.4,16.3.
func Verify(fsys fs.FS) ([]Verified, error) { return VerifyRows(fsys, "published/*.csv", verifiers) }

// VerifyRows calculates every row of the files of a pattern, which are written as [Verify] says, with the calculators of what they name. A
// calculator that no row names is an error.
func VerifyRows(fsys fs.FS, pattern string, calculators map[string]func(Arguments) Arguments) ([]Verified, error) {
	files, err := fs.Glob(fsys, pattern)
	if err != nil {
		return nil, fmt.Errorf("list published values: %w", err)
	}
	var out []Verified
	for _, name := range files {
		rows, err := readCSV(fsys, name)
		if err != nil {
			return nil, err
		}
		for i, row := range rows {
			got, err := verifyRow(row, calculators)
			if err != nil {
				return nil, fmt.Errorf("%s, row %d (%s): %w", path.Base(name), i+2, row["name"], err)
			}
			out = append(out, got...)
		}
	}
	for what := range calculators {
		if !slices.ContainsFunc(out, func(v Verified) bool { return v.What == what }) {
			return nil, fmt.Errorf("%s: no row for %s", pattern, what)
		}
	}
	return out, nil
}

func verifyRow(row map[string]string, calculators map[string]func(Arguments) Arguments) ([]Verified, error) {
	calculate, ok := calculators[row["what"]]
	if !ok {
		return nil, fmt.Errorf("nothing calculates %q", row["what"])
	}
	in, err := parseArguments(row["input"])
	if err != nil {
		return nil, err
	}
	want, err := parseArguments(row["expected"])
	if err != nil {
		return nil, err
	}
	tolerance, err := strconv.ParseFloat(row["tolerance"], 64)
	if err != nil || row["source"] == "" {
		return nil, fmt.Errorf("tolerance %q or source %q is not usable", row["tolerance"], row["source"])
	}
	got := calculate(in)
	keys := make([]string, 0, len(want))
	for k := range want {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	var out []Verified
	for _, k := range keys {
		for i, w := range want[k] {
			v := math.NaN()
			if i < len(got[k]) {
				v = got[k][i]
			}
			out = append(out, Verified{
				Name: row["name"], What: row["what"], Key: k, Expected: w, Got: v, Tolerance: tolerance,
				OK: math.Abs(v-w) <= tolerance+1e-9, Source: row["source"],
			})
		}
	}
	return out, nil
}

func parseArguments(text string) (Arguments, error) {
	out := Arguments{}
	for _, word := range strings.Fields(text) {
		key, list, ok := strings.Cut(word, "=")
		if !ok {
			return nil, fmt.Errorf("%q is not key=value", word)
		}
		for _, item := range strings.Split(list, ",") {
			v, err := strconv.ParseFloat(item, 64)
			if err != nil {
				return nil, fmt.Errorf("%q is not a number", item)
			}
			out[key] = append(out[key], v)
		}
	}
	return out, nil
}

// readCSV reads a file with a header line into one map for each row.
func readCSV(fsys fs.FS, name string) ([]map[string]string, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", name, err)
	}
	records, err := csv.NewReader(f).ReadAll()
	if closing := f.Close(); err == nil {
		err = closing
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	if len(records) == 0 {
		return nil, fmt.Errorf("%s has no header", name)
	}
	var rows []map[string]string
	for _, record := range records[1:] {
		row := make(map[string]string, len(record))
		for i, cell := range record {
			row[records[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows, nil
}
