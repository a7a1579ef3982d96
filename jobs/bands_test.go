package jobs_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"tacet/acoustics"
	"tacet/jobs"
)

// sixteen is a curve from 100 Hz: the numbers are arithmetic.
func sixteen(format, between string) string {
	var out []string
	for i, hz := range acoustics.BandHz()[3:19] {
		out = append(out, fmt.Sprintf(format, hz, 30.5+float64(i)))
	}
	return strings.Join(out, between)
}

func TestParseBands(t *testing.T) {
	bands, values := []string{}, []string{}
	for i, hz := range acoustics.BandHz()[3:19] {
		bands, values = append(bands, fmt.Sprint(hz)), append(values, fmt.Sprint(30.5+float64(i)))
	}
	for name, c := range map[string]struct {
		text    string
		decimal jobs.Decimal
	}{
		"tabs":               {sixteen("%d\t%.1f", "\n"), ""},
		"windows line ends":  {sixteen("%d\t%.1f", "\r\n"), ""},
		"semicolons":         {sixteen("%d;%.1f", "\n"), ""},
		"spaces and units":   {sixteen("%d Hz  %.1f dB", "\n"), ""},
		"comma and blank":    {sixteen("%d, %.1f", "\n"), ""},
		"commas":             {sixteen("%d,%.1f", "\n"), jobs.DecimalPoint},
		"decimal comma":      {strings.ReplaceAll(sixteen("%d\t%.1f", "\n"), ".", ","), jobs.DecimalComma},
		"comma, semicolon":   {strings.ReplaceAll(sixteen("%d;%.1f", "\n"), ".", ","), jobs.DecimalComma},
		"heading":            {"Frequency\tDnT\n" + sixteen("%d\t%.1f", "\n"), ""},
		"heading with unit":  {"f in Hz;DnT in dB\n\n" + sixteen("%d;%.1f", "\n"), ""},
		"bands above values": {strings.Join(bands, "\t") + "\n" + strings.Join(values, "\t"), ""},
		"values alone":       {strings.Join(values, "\n"), ""},
		"values in a line":   {strings.Join(values, " "), ""},
		"quoted CSV":         {sixteen(`"%d";"%.1f"`, "\n"), ""},
		"byte order mark":    {"\ufeff" + sixteen("%d\t%.1f", "\n"), ""},
		"with k":             {strings.NewReplacer("1000\t", "1k\t", "1250\t", "1.25k\t").Replace(sixteen("%d\t%.1f", "\n")), ""},
	} {
		got, err := jobs.ParseBands(c.text, c.decimal)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got.Len() != 16 {
			t.Errorf("%s: %d bands, want 16", name, got.Len())
		}
		for i, hz := range acoustics.BandHz()[3:19] {
			if v, ok := got.At(hz); !ok || v != 30.5+float64(i) {
				t.Errorf("%s: %d Hz is %v, want %v", name, hz, v, 30.5+float64(i))
			}
		}
	}
}

// A comma between digits is asked about and never guessed, whatever else the text shows.
func TestDecimalCommaIsAskedAbout(t *testing.T) {
	for _, text := range []string{
		strings.ReplaceAll(sixteen("%d\t%.1f", "\n"), ".", ","),
		sixteen("%d,%.1f", "\n"),
		strings.ReplaceAll(sixteen("%d,%.1f", "\n"), ".", ","),
		"1,000\t45.2\n1,250\t46",
	} {
		if _, err := jobs.ParseBands(text, jobs.DecimalUnknown); !jobs.AsksDecimal(err) {
			t.Errorf("%.20q: %v, want the question", text, err)
		}
	}
}

func TestBandsThatAreRefused(t *testing.T) {
	for name, text := range map[string]string{
		"nothing":               "",
		"words":                 "hello\nworld",
		"no band":               "101\t30\n125\t31",
		"a band twice":          "100\t30\n100\t31",
		"ragged":                "100\t30\n125\t31\t32",
		"a word among numbers":  "100\t30\n125\tabout 31",
		"out of range":          "100\t30\n125\t900",
		"infinite":              "100\tInf\n125\t31",
		"exponent":              "100\t3e1\n125\t31",
		"seventeen, no bands":   strings.TrimSpace(strings.Repeat("30 ", 17)),
		"two columns of values": "100\t30\t31\n125\t31\t32",
		"too long":              strings.Repeat("100\t30\n", 20000),
	} {
		_, err := jobs.ParseBands(text, jobs.DecimalUnknown)
		var input *jobs.InputError
		if !errors.As(err, &input) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v, want one line of an input error", name, err)
		}
	}
	if _, err := jobs.ParseBands("100 30", "dot"); err == nil {
		t.Error("an unknown decimal mark is taken")
	}
}

func TestParseLevels(t *testing.T) {
	l, err := jobs.ParseLevels("Hz;A;B\n100;90.1;91\n125;92;93\n", jobs.DecimalUnknown)
	if err != nil || len(l.Positions) != 2 || l.Positions[0][0] != 90.1 || l.Positions[1][1] != 93 || l.BandsHz[1] != 125 {
		t.Errorf("%+v, %v", l, err)
	}
	m, err := jobs.ParseLevels("100 125\n90.1 92\n91 93", jobs.DecimalUnknown)
	if err != nil || fmt.Sprint(m) != fmt.Sprint(l) {
		t.Errorf("the other way round: %+v, %v", m, err)
	}
}

// Whatever is pasted, it is read or refused with one line; what is read comes out the same when it is written and read again.
func FuzzParseBands(f *testing.F) {
	f.Add(sixteen("%d\t%.1f", "\n"), "")
	f.Add(sixteen("%d,%.1f", "\n"), "point")
	f.Add(strings.ReplaceAll(sixteen("%d;%.1f", "\n"), ".", ","), "comma")
	f.Add("100 125\n30,5 31", "comma")
	f.Add("f\n\n1k;2\n\x00", "")
	f.Fuzz(func(t *testing.T, text, decimal string) {
		c, err := jobs.ParseBands(text, jobs.Decimal(decimal))
		if err != nil {
			var input *jobs.InputError
			if !errors.As(err, &input) || strings.Contains(err.Error(), "\n") {
				t.Fatalf("%q", err)
			}
			return
		}
		if c.Len() < 2 {
			return
		}
		var b strings.Builder
		for hz, db := range c.All() {
			fmt.Fprintf(&b, "%d\t%.20f\n", hz, db)
		}
		again, err := jobs.ParseBands(b.String(), jobs.DecimalUnknown)
		if err != nil || again != c {
			t.Fatalf("%q read as %v, again as %v, %v", text, c, again, err)
		}
	})
}
