package jobs

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tacet/acoustics"
)

// Decimal says which mark stands before the decimals of typed or pasted numbers.
type Decimal string

// The marks. DecimalUnknown is right for text without a comma between digits; where there is one it is asked about, never
// guessed.
const (
	DecimalUnknown Decimal = ""
	DecimalPoint   Decimal = "point"
	DecimalComma   Decimal = "comma"
)

// decimalField is the field of the error that asks which decimal mark is meant.
const decimalField = "decimal"

// AsksDecimal tells whether an error of [ParseBands] or [ParseLevels] asks for the decimal mark.
func AsksDecimal(err error) bool {
	var input *InputError
	return errors.As(err, &input) && input.Field == decimalField
}

const maxPaste = 64 << 10

// ParseBands reads one value for each third-octave band from text that was typed, pasted from a spreadsheet or read from a
// CSV file: band and value on each line, a line of bands above a line of values, or 16 values (100 to 3150 Hz) or 21 (50
// to 5000 Hz) without bands. Tabs, commas, semicolons and spaces separate; a first line of words is left out.
func ParseBands(pasted string, decimal Decimal) (acoustics.Curve, error) {
	table, err := ParseLevels(pasted, decimal)
	if err != nil {
		return acoustics.Curve{}, err
	}
	if n := len(table.Positions); n != 1 {
		return acoustics.Curve{}, &InputError{Field: "bands", Value: itoa(n) + " columns", Range: "1 column of values", Hint: "leave the others out"}
	}
	var c acoustics.Curve
	for i, hz := range table.BandsHz {
		c.Set(hz, table.Positions[0][i])
	}
	return c, nil
}

// Levels are values by position and band, as a field test has them.
type Levels struct {
	BandsHz   []int
	Positions [][]float64
}

// ParseLevels reads a table of bands by positions: a line for each band with a column for each position, or the other way
// round. See [ParseBands].
func ParseLevels(pasted string, decimal Decimal) (Levels, error) {
	rows, err := cells(pasted, decimal)
	if err != nil {
		return Levels{}, err
	}
	switch {
	case bandsOf(column(rows, 0)) != nil && len(rows[0].cells) > 1:
		return levels(rows, false)
	case bandsOf(rows[0].cells) != nil && len(rows) > 1:
		return levels(rows, true)
	case len(rows) == 1 || len(rows[0].cells) == 1:
		return unnamed(rows)
	}
	if len(rows[0].cells) > 1 {
		if r := noBand(rows); r != nil {
			return Levels{}, &InputError{Field: "bands", Value: trim(r.cells[0]), Hint: "line " + itoa(r.line) + " does not begin with a third-octave band from 50 to 5000 Hz, each once; leave others out, and give band and value on each line"}
		}
	}
	return Levels{}, &InputError{Field: "bands", Value: "no band at the start of line " + itoa(rows[0].line), Range: "50, 63, 80, ... 5000", Unit: "Hz",
		Hint: "give band and value on each line, or a line of bands above the values"}
}

// row is a line of numbers, with its place in the text for whoever has to look for a mistake.
type row struct {
	line  int
	cells []float64
}

// cells reads the text into numbers.
func cells(pasted string, decimal Decimal) ([]row, error) {
	if len(pasted) > maxPaste {
		return nil, &InputError{Field: "bands", Value: strconv.Itoa(len(pasted)), Range: "at most 65536", Unit: "bytes"}
	}
	if decimal != DecimalUnknown && decimal != DecimalPoint && decimal != DecimalComma {
		return nil, choice(decimalField, decimal, DecimalPoint, DecimalComma)
	}
	if decimal == DecimalUnknown {
		if found := commaNumber(pasted); found != "" {
			return nil, &InputError{Field: decimalField, Value: strconv.Quote(found), Range: "point or comma", Hint: "say whether the comma stands before decimals or between columns"}
		}
	}
	var rows []row
	lines := strings.Split(strings.ReplaceAll(strings.ReplaceAll(pasted, "\r\n", "\n"), "\r", "\n"), "\n")
	for i, line := range lines {
		words := splitLine(strings.TrimPrefix(line, "\ufeff"), decimal)
		if len(words) == 0 {
			continue
		}
		r := row{line: i + 1}
		for _, w := range words {
			v, err := reading(w, decimal)
			if err != nil {
				if len(rows) == 0 && len(r.cells) == 0 && i < 3 {
					r.cells = nil
					break // a heading
				}
				return nil, &InputError{Field: "bands", Value: strconv.Quote(short(w)), Hint: "line " + itoa(i+1) + ": not a number"}
			}
			r.cells = append(r.cells, v)
		}
		if len(r.cells) == 0 {
			continue
		}
		if len(rows) > 0 && len(r.cells) != len(rows[0].cells) {
			return nil, &InputError{Field: "bands", Value: itoa(len(r.cells)) + " numbers on line " + itoa(r.line), Range: itoa(len(rows[0].cells)) + " as on the lines before"}
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		return nil, &InputError{Field: "bands", Value: "no numbers", Hint: "give band and value on each line"}
	}
	return rows, nil
}

// commaNumber finds a comma between two digits, with what stands round it.
func commaNumber(s string) string {
	digit := func(i int) bool { return i >= 0 && i < len(s) && s[i] >= '0' && s[i] <= '9' }
	for i := range len(s) {
		if s[i] == ',' && digit(i-1) && digit(i+1) {
			from, to := i, i
			for digit(from - 1) {
				from--
			}
			for digit(to + 1) {
				to++
			}
			return short(s[from : to+1])
		}
	}
	return ""
}

func short(s string) string {
	if r := []rune(s); len(r) > 30 {
		return string(r[:30]) + "…"
	}
	return s
}

// splitLine cuts a line into words; units that stand apart belong to the number before them.
func splitLine(line string, decimal Decimal) []string {
	words := strings.FieldsFunc(line, func(r rune) bool {
		return r == '\t' || r == ';' || r == ' ' || r == '\u00a0' || r == '\u202f' || r == ',' && decimal != DecimalComma
	})
	return slices.DeleteFunc(words, func(w string) bool {
		w = strings.Trim(w, `"'()`)
		return strings.EqualFold(w, "hz") || strings.EqualFold(w, "db") || w == ""
	})
}

// reading is a number as instruments and people write it: 100, 1.25k, 1000Hz, 45.2.
func reading(w string, decimal Decimal) (float64, error) {
	w = strings.Trim(w, `"'`)
	lower := strings.ToLower(w)
	for _, unit := range []string{"hz", "db"} {
		lower = strings.TrimSuffix(lower, unit)
	}
	scale := 1.0
	if k, ok := strings.CutSuffix(lower, "k"); ok {
		lower, scale = k, 1000
	}
	if decimal == DecimalComma {
		lower = strings.ReplaceAll(lower, ",", ".")
	}
	lower = strings.ReplaceAll(lower, "\u2212", "-")
	for _, c := range []byte(lower) {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' {
			return 0, fmt.Errorf("%q is not a number", w)
		}
	}
	v, err := strconv.ParseFloat(lower, 64)
	return v * scale, err
}

func column(rows []row, i int) []float64 {
	var out []float64
	for _, r := range rows {
		if i < len(r.cells) {
			out = append(out, r.cells[i])
		}
	}
	return out
}

// bandsOf returns the numbers as bands, nil if one of them is none or stands there twice. A single number that happens to
// be a band is not enough to call a row a row of bands.
func bandsOf(numbers []float64) []int {
	var c acoustics.Curve
	var bands []int
	for _, v := range numbers {
		hz := int(v)
		_, twice := c.At(hz)
		if float64(hz) != v || twice || !c.Set(hz, 0) {
			return nil
		}
		bands = append(bands, hz)
	}
	if len(bands) < 2 {
		return nil
	}
	return bands
}

// noBand finds the first line that does not begin with a band which stands on no line before; nil where each does.
func noBand(rows []row) *row {
	var c acoustics.Curve
	for i, r := range rows {
		hz := int(r.cells[0])
		_, twice := c.At(hz)
		if float64(hz) != r.cells[0] || twice || !c.Set(hz, 0) {
			return &rows[i]
		}
	}
	return nil
}

// levels puts a table with bands into order, across telling that the bands stand in the first line.
func levels(rows []row, across bool) (Levels, error) {
	var l Levels
	if across {
		l.BandsHz = bandsOf(rows[0].cells)
		for _, r := range rows[1:] {
			l.Positions = append(l.Positions, r.cells)
		}
	} else {
		l.BandsHz = bandsOf(column(rows, 0))
		for i := 1; i < len(rows[0].cells); i++ {
			l.Positions = append(l.Positions, column(rows, i))
		}
	}
	for p, list := range l.Positions {
		for i, v := range list {
			if err := LevelRange.Check(fmt.Sprintf("bands.%d", l.BandsHz[i]), v); err != nil {
				return Levels{}, under("position "+itoa(p+1), err)
			}
		}
	}
	return l, nil
}

// unnamed takes values without bands where their number leaves only one choice.
func unnamed(rows []row) (Levels, error) {
	values := rows[0].cells
	if len(rows) > 1 {
		values = column(rows, 0)
	}
	from := map[int]int{16: 3, 21: 0}
	start, ok := from[len(values)]
	if !ok {
		return Levels{}, &InputError{Field: "bands", Value: itoa(len(values)) + " values without bands", Range: "16 (100 to 3150 Hz) or 21 (50 to 5000 Hz)", Hint: "write the band before each value"}
	}
	l := Levels{BandsHz: acoustics.BandHz()[start : start+len(values)], Positions: [][]float64{values}}
	for i, v := range values {
		if err := LevelRange.Check(fmt.Sprintf("bands.%d", l.BandsHz[i]), v); err != nil {
			return Levels{}, err
		}
	}
	return l, nil
}
