package acoustics

import (
	"encoding/json"
	"iter"
	"math"
	"strconv"
	"strings"
)

// Curve holds one level or reduction in dB for each third-octave band from 50 to 5000 Hz. Bands may be missing; the zero Curve has none.
// As JSON it is an object from band to dB in band order: {"50":21.3,"63":23.0}. Curves compare with ==.
type Curve struct {
	db  [Bands]float64
	has uint32
}

// CurveFrom returns the curve whose values start at the band fromHz and follow without a gap. Values beyond 5000 Hz are dropped; an
// unknown band gives an empty curve.
func CurveFrom(fromHz int, db ...float64) Curve {
	var c Curve
	start, ok := bandIndex(fromHz)
	if !ok {
		return c
	}
	for i, v := range db {
		if start+i < Bands {
			c.set(start+i, v)
		}
	}
	return c
}

// At returns the value in the band with nominal centre hz, and whether there is one.
func (c Curve) At(hz int) (db float64, ok bool) {
	i, known := bandIndex(hz)
	if !known || c.has&(1<<i) == 0 {
		return 0, false
	}
	return c.db[i], true
}

// Set gives the band with nominal centre hz a value. It reports false for a band that is not one of the 21.
func (c *Curve) Set(hz int, db float64) bool {
	i, known := bandIndex(hz)
	if known {
		c.set(i, db)
	}
	return known
}

func (c *Curve) set(i int, db float64) {
	c.db[i] = db
	c.has |= 1 << i
}

// Len is the number of bands that have a value.
func (c Curve) Len() int {
	n := 0
	for range c.All() {
		n++
	}
	return n
}

// All goes through the bands that have a value, from low to high.
func (c Curve) All() iter.Seq2[int, float64] {
	return func(yield func(int, float64) bool) {
		for i, f := range bandHz {
			if c.has&(1<<i) != 0 && !yield(f, c.db[i]) {
				return
			}
		}
	}
}

// Has reports whether every band from low to high has a value.
func (c Curve) Has(low, high int) bool {
	from, ok1 := bandIndex(low)
	to, ok2 := bandIndex(high)
	if !ok1 || !ok2 {
		return false
	}
	for i := from; i <= to; i++ {
		if c.has&(1<<i) == 0 {
			return false
		}
	}
	return true
}

// Rounded returns the curve with every value rounded to 0.1 dB, halves up.
func (c Curve) Rounded() Curve {
	for i := range c.db {
		c.db[i] = tenth(c.db[i])
	}
	return c
}

// MarshalJSON writes the bands in order, as numbers rounded to 0.1 dB.
func (c Curve) MarshalJSON() ([]byte, error) {
	var b strings.Builder
	b.WriteByte('{')
	for hz, db := range c.All() {
		if b.Len() > 1 {
			b.WriteByte(',')
		}
		if math.IsNaN(db) || math.IsInf(db, 0) {
			return nil, &InputError{Field: strconv.Itoa(hz), Value: number(db), Range: "a finite number", Unit: "dB"}
		}
		b.WriteString(strconv.Quote(strconv.Itoa(hz)) + ":" + strconv.FormatFloat(tenth(db), 'f', -1, 64))
	}
	b.WriteByte('}')
	return []byte(b.String()), nil
}

// UnmarshalJSON reads bands by their nominal frequency and refuses any other key, another spelling of the same band too: of two values for
// one band, chance would choose.
func (c *Curve) UnmarshalJSON(data []byte) error {
	var m map[string]float64
	if err := Decode(data, &m); err != nil {
		return err
	}
	*c = Curve{}
	for k, v := range m {
		hz, err := strconv.Atoi(k)
		if err != nil || strconv.Itoa(hz) != k || !c.Set(hz, v) {
			return &InputError{Field: shorten(k), Value: "not a third-octave band", Range: "50, 63, 80, ... 5000", Unit: "Hz"}
		}
	}
	return nil
}

var _ json.Marshaler = Curve{}

// tenth rounds to 0.1, halves up, as ISO 717 asks for. The small term takes back what binary fractions lose of a printed half.
func tenth(v float64) float64 {
	return math.Floor(v*10+0.5+1e-9) / 10
}

// whole rounds to an integer, halves up.
func whole(v float64) int { return int(math.Floor(v + 0.5 + 1e-9)) }
